// Package making makes a program of a draft: read, check, prepare, lay, plan, encode, prove. It takes a
// workroom and a draft with what was said about it, and gives bytes for one device, or a report of what
// stands in their way; without a device the reading and the checks alone. What was measured of a device
// comes from pipeline/testsquare. It keeps nothing between two drafts.
package making

import (
	"cmp"
	"context"
	"errors"
	"time"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/knife"
	"tracewheel/devices/knife/blade"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/plan"
	"tracewheel/pipeline/prepare"
	"tracewheel/pipeline/testsquare"
)

// Maker is the way of a draft through the rooms, up to the bytes: read, check, prepare, lay, plan,
// encode, prove. It keeps nothing between two drafts and may be used for several at once.
type Maker struct {
	Room *config.Workroom
	// setting gives what was measured of a device; nil means that nothing ever was.
	setting func(device string) testsquare.Setting
}

// Request is one draft and what is wanted of it.
type Request struct {
	Source []byte
	Name   string
	// Job is the job's number, 0 for none.
	Job int64
	// Device is the machine's name in the workroom; empty for readings that need none.
	Device string
	// Ticket is the ticket file's content, Answers what a person said when releasing the job.
	Ticket  []byte
	Answers map[string]string
	// cards are the measure cards that are kept with a job. stored is true for a draft that lies in the store:
	// no card lies beside it.
	cards  map[string][]byte
	stored bool
	// FromStroke leaves out the strokes before it, for a job that goes on.
	FromStroke int
	// held is where in that stroke the blade was held, nil to make all of it.
	held *ledger.Place
}

// Work is what became of a draft, filled as far as it came.
type Work struct {
	Request  Request
	Ticket   pattern.Ticket
	Pattern  *pattern.Pattern
	Findings []pattern.Finding
	Ready    []pattern.Ready
	Material config.Material
	Profile  devices.Profile
	Lay      pattern.Lay
	Strokes  []devices.Stroke
	Plan     plan.Report
	Knife    knife.Report
	Program  devices.Program
	// Cuts are where the simulated tip cuts, Departures where that is not what was wanted.
	Cuts       []blade.Cut
	Departures []blade.Departure
	Notes      []string
	// Cards are the measure cards that were read, name to content.
	Cards map[string][]byte

	// around are all strokes of a job of which only the rest is made, numbers which of them each of
	// Strokes is, or a part of.
	around  []devices.Stroke
	numbers []int
	// setting is what was measured of the device, asked once: a calibration recorded while the job is
	// made changes nothing of it.
	setting testsquare.Setting
	// order is the test square's, where the job is one.
	order *testsquare.Order

	// Refused drafts get no program; Reason says why in one line.
	Refused bool
	Reason  string
	// Hold is what a person must answer before there is a program.
	Hold string
}

// Make takes a draft as far as it can go. What is wrong with the draft is in the Work; the error is
// for a request that makes no sense (no such device).
func (h *Maker) Make(ctx context.Context, r Request) (*Work, error) {
	w := &Work{Request: r}
	if _, ok := h.Room.Devices[r.Device]; !ok {
		return nil, h.Room.NoDevice(r.Device)
	}
	h.measured(w)
	if err := w.setting.Err; err != nil {
		w.refuse(pattern.NewFinding(pattern.RuleNotDrawn, "what was measured of the device cannot be read, and without it sizes would be wrong: "+err.Error(),
			"bring the file back from a backup, or move it away and calibrate anew; then drop the draft again"))
		return w, nil
	}
	for _, stage := range h.stages(r) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if err := stage(w); err != nil {
			return nil, err
		}
		if w.Refused || w.Hold != "" {
			return w, nil
		}
	}
	if len(w.Program.Blocks) > 0 {
		made := w.setting.Setting
		w.Program.Setting = &made
	}
	return w, nil
}

// measured asks what was measured of the device.
func (h *Maker) measured(w *Work) {
	if h.setting != nil && w.Request.Device != "" {
		w.setting = h.setting(w.Request.Device)
	}
}

// on is the device and the material as they are for this job.
func (h *Maker) on(w *Work, device, name string) {
	p, m := h.Room.On(device, name)
	w.Profile, w.Material = w.setting.On(p), m
}

// stages are the rooms that a request goes through.
func (h *Maker) stages(r Request) []func(*Work) error {
	draw := []func(*Work) error{h.read, h.check, h.prepare, h.lay, h.plan}
	if testsquare.IsOrder(r.Name) {
		draw = []func(*Work) error{h.squareStrokes}
		if o, err := testsquare.ReadOrder(r.Source, r.Device); err == nil && len(o.Ladder) > 0 { // each rung is compensated for itself
			return append(draw, h.ladder)
		}
	}
	if r.Answers[control.AnswerToolUp] != "" {
		return append(draw, h.toolUp)
	}
	return append(draw, h.encode, h.prove)
}

func (w *Work) refuse(f ...pattern.Finding) {
	w.Findings = append(w.Findings, f...)
	w.Refused = true
	for _, f := range w.Findings {
		if f.Severity == pattern.Error {
			w.Reason = f.Message
			return
		}
	}
}

// read takes the ticket and the draft apart.
func (h *Maker) read(w *Work) error {
	ticket, err := readTicket(w.Request)
	if err != nil {
		var faults *config.Faults
		if errors.As(err, &faults) {
			for _, ft := range faults.List {
				f := pattern.NewFinding(pattern.RuleTicket, "the ticket: "+ft.Text, "mend the ticket and drop both files again")
				f.Line, f.Column = ft.Line, ft.Column
				w.refuse(f)
			}
			return nil
		}
		w.refuse(pattern.NewFinding(pattern.RuleTicket, err.Error(), "mend the ticket and drop both files again"))
		return nil
	}
	w.Ticket = ticket
	p, err := draft.Read(w.Request.Source, w.Request.Name, draft.Options{Unit: ticket.Unit, FinerCurves: h.Room.Sewing.FinerCurves == "finer", Body: ticket.Body, Card: h.cardOf(w)})
	if err != nil {
		w.refuse(unreadable(err)...)
		return nil
	}
	w.Pattern = p
	return nil
}

// unreadable makes findings of a reader's refusal, one for each fault it names.
func unreadable(err error) []pattern.Finding {
	var out []pattern.Finding
	for _, ft := range draft.Faults(err) {
		f := pattern.NewFinding(cmp.Or(ft.Rule, pattern.RuleUnreadable), ft.Message, ft.Mend)
		f.Line, f.Column = ft.Line, ft.Column
		out = append(out, f)
	}
	return out
}

func readTicket(r Request) (pattern.Ticket, error) {
	var t pattern.Ticket
	if err := config.Strict(r.Ticket, "ticket", &t); err != nil {
		return t, err
	}
	if a, ok := r.Answers["allowance"]; ok {
		t.Allowance = a
	}
	if u, ok := r.Answers["unit"]; ok {
		t.Unit = u
	}
	if b, ok := r.Answers["body"]; ok {
		t.Body = b
	}
	_, _, err := t.AllowanceSaid()
	return t, err
}

// AnswerAsMeasured is the answer by which a person says that an unlikely measure is right.
const AnswerAsMeasured = "as-measured"

// check looks at the draft with the eyes of the device it is for.
func (h *Maker) check(w *Work) error {
	h.look(w)
	for _, f := range w.Findings {
		if f.Rule == pattern.RuleMeasureUnlikely && w.Request.Answers[AnswerAsMeasured] != "" {
			continue
		}
		if f.Hold && w.Hold == "" {
			w.Hold = f.Message
			if f.Mend != "" {
				w.Hold += "; " + f.Mend
			}
		}
	}
	if pattern.Worst(w.Findings) == pattern.Error {
		w.Hold = ""
		w.refuse()
	}
	return nil
}

func (h *Maker) prepare(w *Work) error {
	s := h.Room.Sewing
	opt := prepare.Options{
		Cuts: w.Profile.Kind.Cuts(), HasPen: w.Profile.HasPen(), MitreLimit: s.MitreLimit,
		NotchDepth: s.NotchDepth, NotchWidth: s.NotchWidth, NotchLeft: s.NotchKeep,
		LetterHeight: s.Letters, OneWay: w.Material.OneWay, Inches: h.Room.Units == "in",
		Job: w.Request.Job,
	}
	if s.Allowance > 0 {
		opt.WorkroomAllowance = &s.Allowance
	}
	res, err := prepare.Run(w.Pattern, w.Ticket, opt)
	if err != nil {
		w.refuse(pattern.NewFinding(pattern.RuleNotPrepared, err.Error(), "mend the draft or its ticket, then drop it again"))
		return nil
	}
	w.Ready, w.Findings = res.Ready, append(w.Findings, res.Findings...)
	return nil
}

func (h *Maker) lay(w *Work) error {
	var findings []pattern.Finding
	w.Lay, findings = lay.Shelf(w.Ready, pattern.MaterialOn(w.Ticket.Material, w.Profile, w.Material))
	w.Findings = append(w.Findings, findings...)
	if pattern.Worst(findings) == pattern.Error {
		w.refuse()
	}
	return nil
}

func (h *Maker) plan(w *Work) error {
	w.Strokes, w.Plan = plan.Strokes(w.Ready, w.Lay, w.Profile, plan.Options{})
	w.Notes = append(w.Notes, w.setting.Notes...)
	w.fromStroke()
	return nil
}

// New gives the way through the rooms for a workroom, its calibrations with it.
func New(room *config.Workroom) *Maker {
	return &Maker{Room: room, setting: func(device string) testsquare.Setting { return testsquare.SettingOf(room, device, time.Now()) }}
}
