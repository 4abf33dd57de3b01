// Package making makes a program of a draft: read, check, prepare, lay, plan, encode, prove. It takes a
// workroom and a draft with what was said about it, and gives bytes for one device, or a report of what
// stands in their way; without a device the reading and the checks alone. What was measured of a device
// comes from pipeline/testsquare. It keeps nothing between two drafts.
package making

import (
	"context"
	"slices"
	"time"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/prepare"
	"tracewheel/pipeline/testsquare"
)

// Maker is the way of a draft through the rooms, up to the bytes. It keeps nothing between two drafts and
// may be used for several at once.
type Maker struct {
	Room *config.Workroom
	// MostPoints is how many points of outlines Look judges, 0 for any number.
	MostPoints int
	// Done, once closed, has the reading of drafts given up: nobody waits for what is made of them. Nil never is.
	Done <-chan struct{}
	// Figured is told the figures of a measured draft that Look reads, as draft.Options tell them.
	Figured func(*figures.Figures)
	// Unit is that of the person for whom a measured draft is read: its lengths are told in it, "" for the draft's own.
	Unit string
	// Kept gives the lays that are kept for a draft: its chalking list and its first sheet then tell those. Nil has the
	// first that are found told.
	Kept func(ctx context.Context, r Request) (*cloths.Layout, error)
	// setting gives what was measured of a device, of a printer on a paper, "" for its usual one; nil means that
	// nothing ever was.
	setting func(device, paper string) testsquare.Setting
}

// New gives the way through the rooms for a workroom, its calibrations with it.
func New(room *config.Workroom) *Maker {
	return &Maker{Room: room, setting: func(device, paper string) testsquare.Setting {
		return testsquare.SettingOn(room, device, paper, time.Now())
	}}
}

// Request is one draft and what is wanted of it. Its device is empty for readings that need none, its job 0
// for a file that lies where a person keeps it.
type Request = job.Draft

// Work collects what the stages gave for a draft, as far as it came: each has a result of its own, made of
// the results before it alone.
type Work struct {
	Request Request
	Setup
	Read
	Prepared
	Planned
	Encoded
	Proved
	Judged
}

// Read is a draft taken apart.
type Read struct {
	Ticket pattern.Ticket
	// Pattern holds all pieces of Parts: the draft, those that its ticket names beside it, each once for each body.
	Pattern *pattern.Pattern
	Parts   []prepare.Part
	// Cards are the measure cards that were read, Blocks the drafts from which this one takes, With those that its ticket
	// names, name to content.
	Cards, Blocks, With map[string][]byte
}

// Judged is what a stage says of a draft.
type Judged struct {
	Findings []pattern.Finding
	Notes    []string
	// Refused drafts get no program; Reason says why in one line.
	Refused bool
	Reason  string
	// Hold is what a person must answer before there is a program.
	Hold string
}

// refused refuses a draft for findings.
func refused(f ...pattern.Finding) Judged { return Judged{Findings: f, Refused: true} }

// add takes down what a stage says. A draft is refused for its first error, whichever stage found it.
func (j *Judged) add(more Judged) {
	j.Findings, j.Notes = append(j.Findings, more.Findings...), append(j.Notes, more.Notes...)
	if more.Hold != "" {
		j.Hold = more.Hold
	}
	if !more.Refused {
		return
	}
	j.Refused = true
	for _, f := range j.Findings {
		if f.Severity == pattern.Error {
			j.Reason = f.Message
			return
		}
	}
}

// Make takes a draft as far as it can go. What is wrong with the draft is in the Work; the error is
// for a request that makes no sense (no such device).
func (m *Maker) Make(ctx context.Context, r Request) (*Work, error) {
	return m.make(ctx, r, job.Rest{})
}

// make leaves out what comes before the rest, the zero one for the whole.
func (m *Maker) make(ctx context.Context, r Request, rest job.Rest) (*Work, error) {
	if _, ok := m.Room.Devices[r.Device]; !ok {
		return nil, m.Room.NoDevice(r.Device)
	}
	w := &Work{Request: r}
	s := m.measured(r.Device)
	if s.Err != nil {
		w.add(refused(pattern.NewFinding(pattern.RuleNotDrawn, "what was measured of the device cannot be read, and without it sizes would be wrong: "+s.Err.Error(),
			"bring the file back from a backup, or move it away and calibrate anew; then drop the draft again")))
		return w, nil
	}
	goesOn := w.goesOn(ctx)
	planned := false
	if m.Room.Devices[r.Device].Kind.Prints() {
		m.makeSheets(ctx, w, s)
	} else if testsquare.IsOrder(r.Name) {
		planned = m.makeSquare(w, s, rest, goesOn)
	} else {
		planned = m.makeDraft(ctx, w, s, rest, goesOn)
	}
	if planned {
		if err := m.makeProgram(w, goesOn); err != nil {
			return nil, err
		}
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if w.Refused || w.Hold != "" {
		return w, nil
	}
	if len(w.Program.Blocks) > 0 {
		made := w.Setup.setting.Setting
		w.Program.Setting, w.Program.MadeBy = &made, m.madeBy(w.Request.Device, w.Ticket.Material)
	}
	return w, nil
}

// goesOn adds what a stage says, and tells whether the next one may begin.
func (w *Work) goesOn(ctx context.Context) func(Judged) bool {
	return func(j Judged) bool {
		w.add(j)
		return !w.Refused && w.Hold == "" && ctx.Err() == nil
	}
}

// makeDraft goes from the file to strokes; it tells whether it came so far.
func (m *Maker) makeDraft(ctx context.Context, w *Work, s testsquare.Setting, rest job.Rest, goesOn func(Judged) bool) bool {
	if !m.makePieces(w, s, goesOn) {
		return false
	}
	var j Judged
	w.Planned, j = m.plan(ctx, w.Read, w.Prepared, w.Request, w.Setup, rest)
	return goesOn(j)
}

// makePieces goes from the file to pieces that can be laid; it tells whether it came so far.
func (m *Maker) makePieces(w *Work, s testsquare.Setting, goesOn func(Judged) bool) bool {
	var j Judged
	if w.Read, j = m.read(w.Request); !goesOn(j) {
		return false
	}
	w.Setup = m.setup(w.Request.Device, w.Ticket.Material, s)
	w.Setup.lieOn(w.Request.Remnant)
	if p := w.Request.Answers[AnswerPatterns]; p != "" && !w.Profile.Kind.Cuts() {
		w.Profile.Patterns = devices.Patterns(p)
	}
	j = m.judge(w.Read, &w.Setup, w.Request.Answers)
	if !j.Refused && j.Hold == "" {
		j.Hold = m.tooMany(w.Read, w.Request.Job, w.Request.Answers)
	}
	if !goesOn(j) {
		return false
	}
	w.Prepared, j = m.prepare(w.Read, w.Setup, w.Request)
	if !goesOn(j) {
		return false
	}
	w.dropLeftOut()
	return true
}

// dropLeftOut tells nothing of the pieces that a job of chosen pieces does not make; the whole job told it.
func (w *Work) dropLeftOut() {
	if w.Request.Answers[control.AnswerPieces] == "" {
		return
	}
	made, left := map[string]bool{}, map[string]bool{}
	for _, r := range w.Ready {
		made[w.Pattern.Pieces[r.Index].Name] = true
	}
	for _, p := range w.Pattern.Pieces {
		left[p.Name] = p.Name != "" && !made[p.Name]
	}
	w.Findings = slices.DeleteFunc(w.Findings, func(f pattern.Finding) bool { return f.Severity != pattern.Error && left[f.Piece] })
}

// makeProgram goes from strokes to bytes that are proved.
func (m *Maker) makeProgram(w *Work, goesOn func(Judged) bool) (err error) {
	var j Judged
	if up := w.Request.Answers[control.AnswerToolUp]; up != "" {
		if w.Encoded, j, err = m.toolUp(w.Planned, w.Setup, up); err == nil {
			goesOn(j)
		}
		return err
	}
	if w.Encoded, j = m.encode(w.Planned, w.Prepared, w.Setup, w.Findings); !goesOn(j) {
		return nil
	}
	if w.Proved, j, err = m.prove(w.Encoded, w.Planned, w.Setup, w.Request.Answers); err == nil {
		goesOn(j)
	}
	return err
}
