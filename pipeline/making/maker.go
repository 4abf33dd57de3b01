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
	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/prepare"
	"tracewheel/pipeline/testsquare"
)

// Maker makes programs of drafts, stage by stage. It keeps nothing between two drafts and may be used for several at once.
type Maker struct {
	Room *config.Workroom
	// MostPoints is the most points of outlines that Look checks, 0 for any number.
	MostPoints int
	// Done, when closed, ends the reading of drafts, because nobody waits for the result any more. Nil is never closed.
	Done <-chan struct{}
	// Figured is called with the figures of a measured draft that Look reads, as draft.Options says.
	Figured func(*figures.Figures)
	// Unit is that of the person for whom a measured draft is read: its lengths are written in it, "" for the draft's own.
	Unit string
	// Kept gives the lay that is kept for a draft: its chalking list and its first sheet are then written by it. With nil
	// they are written by the first lay that is found.
	Kept func(ctx context.Context, r Request) (*cloths.Layout, error)
	// setting gives what was measured of a device, for a printer on a paper, "" for its usual one; nil means that nothing
	// was measured.
	setting func(device, paper string) testsquare.Setting
}

// New gives the Maker of a workroom, with its calibrations.
func New(room *config.Workroom) *Maker {
	return &Maker{Room: room, setting: func(device, paper string) testsquare.Setting {
		return testsquare.SettingOn(room, device, paper, time.Now())
	}}
}

// Request is one draft and what is wanted of it. Its device is empty where none is needed, its job 0 for a file that is no
// job's.
type Request = job.Draft

// Work collects the results of the stages for a draft, as far as they came. Each stage works by the results before it
// alone.
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

// Read is the result of reading a draft.
type Read struct {
	Ticket pattern.Ticket
	// Pattern holds all pieces of Parts: the draft, those that its ticket names beside it, each once for each body.
	Pattern *pattern.Pattern
	Parts   []prepare.Part
	// Cards are the measure cards that were read, Blocks the drafts from which this one takes, With the drafts that its
	// ticket names: content by name.
	Cards, Blocks, With map[string][]byte
	// asks is true of a job's draft: one that does not say its unit waits for a person who does.
	asks bool
}

// Judged is what a stage finds wrong with a draft or asks about it.
type Judged struct {
	Findings []pattern.Finding
	Notes    []string
	// Refused is true for a draft that gets no program; Reason says why in one line.
	Refused bool
	Reason  string
	// Hold is the question that a person must answer before there is a program.
	Hold string
}

// refused is a Judged that refuses the draft for findings.
func refused(f ...pattern.Finding) Judged { return Judged{Findings: f, Refused: true} }

// add adds the findings of a stage. A draft is refused for its first error, whichever stage found it.
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

// Make makes a draft as far as it can. What is wrong with the draft is in the Work; the error is for a request that cannot
// be met, such as an unknown device.
func (m *Maker) Make(ctx context.Context, r Request) (*Work, error) {
	return m.make(ctx, r, job.Rest{})
}

// make makes a draft without what comes before the rest; the zero rest leaves nothing out.
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

// goesOn gives a function that adds what a stage found, and tells whether the next stage may begin.
func (w *Work) goesOn(ctx context.Context) func(Judged) bool {
	return func(j Judged) bool {
		w.add(j)
		return !w.Refused && w.Hold == "" && ctx.Err() == nil
	}
}

// makeDraft takes a draft from the file to strokes, and tells whether it came so far.
func (m *Maker) makeDraft(ctx context.Context, w *Work, s testsquare.Setting, rest job.Rest, goesOn func(Judged) bool) bool {
	if !m.makePieces(w, s, goesOn) {
		return false
	}
	var j Judged
	w.Planned, j = m.plan(ctx, w.Read, w.Prepared, w.Request, w.Setup, rest)
	return goesOn(j)
}

// makePieces takes a draft from the file to pieces that can be laid, and tells whether it came so far.
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

// dropLeftOut removes the findings of pieces that a job of chosen pieces does not make; the whole job had them.
func (w *Work) dropLeftOut() {
	if w.Request.Answers[answers.Pieces] == "" {
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

// makeProgram takes the strokes to bytes that are proved.
func (m *Maker) makeProgram(w *Work, goesOn func(Judged) bool) (err error) {
	var j Judged
	if up := w.Request.Answers[answers.ToolUp]; up != "" {
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
