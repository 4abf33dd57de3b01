package making

import (
	"context"
	"errors"
	"fmt"

	"tracewheel/pipeline/check"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/picture"
)

// ErrRefused means that a draft was refused; its findings say why.
var ErrRefused = errors.New("the draft is refused")

// Picture draws a file: a draft's pieces with their findings, or, with a device, what that device
// would be given; asCut shows what a simulated blade makes of it. Files in a machine's own language are
// drawn as the machine would draw them.
func (h *Maker) Picture(ctx context.Context, r Request, asCut, points bool) (*picture.Canvas, *Work, error) {
	opt := picture.Options{Inches: h.Room.Units == "in", Points: points}
	if machineFile(r.Name) != "" {
		return h.pictureMachine(r, asCut, opt)
	}
	if r.Device == "" {
		w := h.Look(r)
		if w.Pattern == nil {
			return nil, w, ErrRefused
		}
		return picture.Pattern(w.Pattern, w.Findings, opt), w, nil
	}
	w, err := h.Make(ctx, r)
	switch {
	case err != nil:
		return nil, nil, err
	case w.Pattern == nil:
		return nil, w, ErrRefused
	case w.Refused || len(w.Strokes) == 0:
		return picture.Pattern(w.Pattern, w.Findings, opt), w, nil
	case asCut && len(w.Cuts) == 0:
		return nil, w, fmt.Errorf("%s has no trailing blade whose cut could be simulated", r.Device)
	case asCut:
		return picture.Device(w.CutView(), opt), w, nil
	}
	return picture.Device(w.View(), opt), w, nil
}

// Look reads and checks a draft, as `check` does. For a device it goes as far as Make, so that what
// passes here is what can be made.
func (h *Maker) Look(r Request) *Work {
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

func (h *Maker) look(w *Work) {
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
