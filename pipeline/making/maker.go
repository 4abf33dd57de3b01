// Package making makes a program of a draft: read, check, prepare, lay, plan, encode, prove. It takes a
// workroom and a draft with what was said about it, and gives bytes for one device, or a report of what
// stands in their way; without a device the reading and the checks alone. What was measured of a device
// comes from pipeline/testsquare. It keeps nothing between two drafts.
package making

import (
	"cmp"
	"context"
	"slices"
	"time"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/knife"
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

// Looked is a draft that was read and checked. Its Pattern is nil where it cannot be read, and of what is no draft.
type Looked struct {
	Request Request
	Read
	Judged
}

// Work is a draft that was made for a device, as far as it came. What a later stage gives is had with whether the draft
// came so far.
type Work struct {
	Looked
	// Program is what the device is sent, without blocks where nothing is.
	Program devices.Program
	// Beds are the pieces of each bed where they take more than one and a person has them cut bed by bed: nothing is made then.
	Beds     []string
	prepared *Prepared
	made     *Made
}

// Made is by what a program was made that draws or cuts. An order of a test square has no pieces and no lay.
type Made struct {
	Setup
	Prepared
	Planned
	Knife knife.Report
	Proved
}

// Made gives by what the program was made; false where none was, and for sheets, which have no strokes.
func (w *Work) Made() (Made, bool) {
	if w.made == nil {
		return Made{}, false
	}
	return *w.made, true
}

// Prepared gives the pieces; false where the draft did not come so far, and for an order of a test square.
func (w *Work) Prepared() (Prepared, bool) {
	if w.prepared == nil {
		return Prepared{}, false
	}
	return *w.prepared, true
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
	w := &Work{Looked: Looked{Request: r}}
	s := m.measured(r.Device)
	if s.Err != nil {
		w.add(refused(pattern.NewFinding(pattern.RuleNotDrawn, "what was measured of the device cannot be read, and without it sizes would be wrong: "+s.Err.Error(),
			"bring the file back from a backup, or move it away and calibrate anew; then drop the draft again")))
		return w, nil
	}
	var err error
	switch {
	case m.Room.Devices[r.Device].Kind.Prints():
		m.makeSheets(ctx, w, s)
	case testsquare.IsOrder(r.Name):
		err = m.makeSquare(ctx, w, s, rest)
	default:
		err = m.makeDraft(ctx, w, s, rest)
	}
	if err = cmp.Or(err, ctx.Err()); err != nil {
		return nil, err
	}
	if len(w.Program.Blocks) > 0 && !w.Refused && w.Hold == "" {
		if w.made != nil {
			s = w.made.setting
		}
		w.Program.Setting, w.Program.MadeBy = &s.Setting, m.madeBy(r.Device, w.Ticket.Material)
	}
	return w, nil
}

// goesOn adds what a stage found, and tells whether the next stage may begin.
func (l *Looked) goesOn(ctx context.Context, j Judged) bool {
	l.add(j)
	return !l.Refused && l.Hold == "" && ctx.Err() == nil
}

// makeDraft takes a draft from the file to its program, as far as it comes.
func (m *Maker) makeDraft(ctx context.Context, w *Work, s testsquare.Setting, rest job.Rest) error {
	on, p, ok := m.makePieces(ctx, &w.Looked, s)
	if !ok {
		return nil
	}
	w.prepared = &p
	pl, j := m.plan(ctx, w.Read, p, w.Request, on, rest)
	if w.Beds = pl.Beds; !w.goesOn(ctx, j) || len(pl.Beds) > 0 {
		return nil
	}
	return m.makeProgram(ctx, w, Made{Setup: on, Prepared: p, Planned: pl})
}

// makePieces takes a draft from the file to pieces that can be laid, and tells whether it came so far.
func (m *Maker) makePieces(ctx context.Context, l *Looked, s testsquare.Setting) (on Setup, p Prepared, ok bool) {
	var j Judged
	if l.Read, j = m.read(l.Request); !l.goesOn(ctx, j) {
		return on, p, false
	}
	on = m.setup(l.Request.Device, l.Ticket.Material, s)
	on.lieOn(l.Request.Remnant)
	if p := l.Request.Answers[AnswerPatterns]; p != "" && !on.Profile.Kind.Cuts() {
		on.Profile.Patterns = devices.Patterns(p)
	}
	j = m.judge(l.Read, &on, l.Request.Answers)
	if !j.Refused && j.Hold == "" {
		j.Hold = m.tooMany(l.Read, l.Request.Job, l.Request.Answers)
	}
	if !l.goesOn(ctx, j) {
		return on, p, false
	}
	if p, j = m.prepare(l.Read, on, l.Request); !l.goesOn(ctx, j) {
		return on, p, false
	}
	l.dropLeftOut(p)
	return on, p, true
}

// dropLeftOut removes the findings of pieces that a job of chosen pieces, or of one cloth, does not make; another has them.
func (l *Looked) dropLeftOut(of Prepared) {
	if l.Request.Answers[answers.Pieces]+of.Cloth == "" {
		return
	}
	made, left := map[string]bool{}, map[string]bool{}
	for _, r := range of.Ready {
		made[l.Pattern.Pieces[r.Index].Name] = true
	}
	for _, p := range l.Pattern.Pieces {
		left[p.Name] = p.Name != "" && !made[p.Name]
	}
	l.Findings = slices.DeleteFunc(l.Findings, func(f pattern.Finding) bool { return f.Severity != pattern.Error && left[f.Piece] })
}

// makeProgram takes strokes to bytes that are proved.
func (m *Maker) makeProgram(ctx context.Context, w *Work, of Made) error {
	if up := w.Request.Answers[answers.ToolUp]; up != "" {
		en, j, err := m.toolUp(of.Planned, of.Setup, up)
		if err == nil {
			w.keep(of, en, j)
		}
		return err
	}
	en, j := m.encode(of.Planned, of.Prepared, of.Setup, w.Findings)
	if !w.goesOn(ctx, j) {
		return nil
	}
	var err error
	if of.Proved, j, err = m.prove(en, of.Planned, of.Setup, w.Request.Answers); err == nil {
		w.keep(of, en, j)
	}
	return err
}

// keep adds what the last stage found, and keeps the program unless it is refused.
func (w *Work) keep(of Made, en Encoded, j Judged) {
	if w.add(j); !w.Refused {
		of.Knife, w.Program, w.made = en.Knife, en.Program, &of
	}
}
