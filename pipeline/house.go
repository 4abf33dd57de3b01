package pipeline

import (
	"cmp"
	"context"
	"errors"
	"fmt"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/knife"
	"tracewheel/devices/knife/blade"
	"tracewheel/pipeline/check"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/plan"
	"tracewheel/pipeline/prepare"
	"tracewheel/pipeline/testsquare"
)

// House is the way of a draft through the rooms, up to the bytes: read, check, prepare, lay, plan,
// encode, prove. It keeps nothing between two drafts and may be used for several at once.
type House struct {
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
func (h *House) Make(ctx context.Context, r Request) (*Work, error) {
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
func (h *House) measured(w *Work) {
	if h.setting != nil && w.Request.Device != "" {
		w.setting = h.setting(w.Request.Device)
	}
}

// on is the device and the material as they are for this job.
func (h *House) on(w *Work, device, name string) {
	p, m := h.Room.On(device, name)
	w.Profile, w.Material = w.setting.On(p), m
}

// stages are the rooms that a request goes through.
func (h *House) stages(r Request) []func(*Work) error {
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

// Look reads and checks a draft, as `check` does. For a device it goes as far as Make, so that what
// passes here is what can be made.
func (h *House) Look(r Request) *Work {
	if _, ok := h.Room.Devices[r.Device]; ok {
		if w, err := h.Make(context.Background(), r); err == nil {
			return w
		}
	}
	w := &Work{Request: r}
	h.measured(w)
	if h.read(w) == nil && !w.Refused {
		h.look(w)
	}
	return w
}

// Passes tells whether nothing stands in the way of a draft: no error, and no question.
func (w *Work) Passes() bool {
	return !w.Refused && w.Hold == "" && pattern.Worst(w.Findings) != pattern.Error
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
func (h *House) read(w *Work) error {
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
func (h *House) check(w *Work) error {
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

func (h *House) look(w *Work) {
	lim := check.Limits{
		Inches: h.Room.Units == "in", AllowanceMin: h.Room.Sewing.AllowanceMin,
		AllowanceMax: h.Room.Sewing.AllowanceMax, NotchDepth: h.Room.Sewing.NotchDepth,
		NotchShare: h.Room.Sewing.NotchWarn, NotchLeft: h.Room.Sewing.NotchKeep,
		SeamTolerance: h.Room.Sewing.SeamTolerance,
	}
	lim.AllowanceIncluded, lim.Allowance, _ = w.Ticket.AllowanceSaid()
	if a := h.Room.Sewing.Allowance; a > 0 {
		lim.WorkroomAllowance = &a
	}
	if w.Request.Device != "" {
		h.on(w, w.Request.Device, w.Ticket.Material)
		m := pattern.MaterialOn(w.Ticket.Material, w.Profile, w.Material)
		lim.Width, lim.Length, lim.Margin, lim.Cloth = m.Width, m.Length, m.Margin, m.Cloth
		lim.Cuts, lim.HasPen = w.Profile.Kind.Cuts(), w.Profile.HasPen()
		lim.BladeOffset = w.Profile.Blade.Offset
	}
	levels := map[string]pattern.Severity{}
	for rule, s := range h.Room.Checks {
		levels[rule] = pattern.Severity(s)
	}
	w.Findings = check.Run(w.Pattern, lim, levels)
	if t := w.Ticket.Material; t != "" {
		if _, ok := h.Room.Materials[t]; !ok {
			w.refuse(pattern.NewFinding(pattern.RuleTicket, fmt.Sprintf("the ticket wants material %q, which the workroom does not have", t),
				"name one of the materials in the workroom file"))
		}
	}
}

func (h *House) prepare(w *Work) error {
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

func (h *House) lay(w *Work) error {
	var findings []pattern.Finding
	w.Lay, findings = lay.Shelf(w.Ready, pattern.MaterialOn(w.Ticket.Material, w.Profile, w.Material))
	w.Findings = append(w.Findings, findings...)
	if pattern.Worst(findings) == pattern.Error {
		w.refuse()
	}
	return nil
}

func (h *House) plan(w *Work) error {
	w.Strokes, w.Plan = plan.Strokes(w.Ready, w.Lay, w.Profile, plan.Options{})
	w.Notes = append(w.Notes, w.setting.Notes...)
	w.fromStroke()
	return nil
}
