package making

import (
	"context"
	"errors"
	"fmt"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/pipeline/checked"
	"tracewheel/pipeline/machinefile"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/picture"
	"tracewheel/pipeline/prepare"
)

// ErrRefused means that a draft was refused; its findings say why.
var ErrRefused = errors.New("the draft is refused")

// Picture draws a file: a draft's pieces with their findings or, with a device, what that device would be sent; asCut
// shows what a simulated blade makes of it. Files in a machine's language are drawn as the machine would draw them.
func (m *Maker) Picture(ctx context.Context, r Request, asCut, points bool) (*picture.Canvas, *Looked, error) {
	opt := picture.Options{Unit: m.Room.Units, Points: points}
	if machinefile.Language(r.Name) != "" {
		return m.pictureMachine(r, asCut, opt)
	}
	if r.Device == "" {
		w := m.Look(r)
		if w.Pattern == nil {
			return nil, w, ErrRefused
		}
		return picture.Pattern(m.Drawn(w), w.Findings, opt), w, nil
	}
	w, err := m.Make(ctx, r)
	if err != nil {
		return nil, nil, err
	}
	opt.Unit = m.unitOf(&w.Looked)
	made, drawn := w.Made()
	switch {
	case w.Pattern == nil:
		return nil, &w.Looked, ErrRefused
	case !drawn:
		return picture.Pattern(m.Drawn(&w.Looked), w.Findings, opt), &w.Looked, nil
	case asCut && len(made.Cuts) == 0:
		return nil, &w.Looked, fmt.Errorf("%s has no trailing blade whose cut could be simulated", r.Device)
	case asCut:
		return picture.Device(w.cutView(made), opt), &w.Looked, nil
	}
	return picture.Device(w.view(made), opt), &w.Looked, nil
}

// pictureMachine draws a file in a machine's language as the machine would. With a device it is read by that device's
// limits. Its faults are the findings.
func (m *Maker) pictureMachine(r Request, asCut bool, opt picture.Options) (*picture.Canvas, *Looked, error) {
	w := &Looked{Request: r}
	lang := machinefile.Language(r.Name)
	var on *devices.Profile // nil without a device
	if r.Device != "" {
		if _, ok := m.Room.Devices[r.Device]; !ok {
			return nil, nil, m.Room.NoDevice(r.Device)
		}
		set := m.setup(r.Device, "", m.measured(r.Device))
		on = &set.Profile
		if (on.Language == devices.GCode) != (lang == devices.GCode) {
			return nil, nil, fmt.Errorf("%s speaks %s, and %s is no such file by its name", r.Device, on.Language, r.Name)
		}
	}
	var v picture.View
	var err error
	switch {
	case asCut && (on == nil || on.Kind != devices.DragKnife || lang != devices.GCode):
		return nil, nil, errors.New("only a trailing blade's cut can be simulated: name a drag-knife with --device")
	case lang == devices.GCode:
		v, w.Findings = machinefile.GCode(r.Name, r.Source, on, asCut)
	default:
		if v, w.Findings, err = machinefile.Plot(r.Name, r.Source, on); err != nil {
			return nil, nil, err
		}
	}
	return picture.Device(v, opt), w, nil
}

// Drawn gives a draft as a picture shows it: a measured draft with the cut lines that its allowances make, where they can
// be made. A quarter piece stays a quarter.
func (m *Maker) Drawn(w *Looked) *pattern.Pattern {
	if w.Pattern == nil || w.Pattern.Format != "measured" {
		return w.Pattern
	}
	p, err := prepare.WithCutLines(w.Pattern, w.Ticket, m.preparing(nil, 0))
	if err != nil {
		return w.Pattern // the findings say what is wrong
	}
	for i := range p.Pieces {
		if w.Pattern.Pieces[i].Second != nil {
			p.Pieces[i] = w.Pattern.Pieces[i]
		}
	}
	return p
}

// Look reads and checks a draft, as `check` does. For a device it goes as far as Make, so that what
// passes here is what can be made.
func (m *Maker) Look(r Request) *Looked {
	if _, ok := m.Room.Devices[r.Device]; ok {
		if w, err := m.Make(context.Background(), r); err == nil {
			return &w.Looked
		}
	}
	w := &Looked{Request: r}
	var j Judged
	w.Read, j = m.read(r)
	switch n := points(w.Pattern); {
	case j.Refused:
	case m.MostPoints > 0 && n > m.MostPoints:
		w.Pattern = nil
		j = refused(pattern.NewFinding(pattern.RuleNotPrepared, fmt.Sprintf("its lines have %d points, and up to %d are judged here", n, m.MostPoints),
			"drop it into a device's folder, or look at it by `tracewheel check`"))
	default:
		j = m.look(w.Read, nil)
	}
	w.add(j)
	return w
}

// points is the number of points of all lines of a pattern.
func points(p *pattern.Pattern) (n int) {
	if p == nil {
		return 0
	}
	for i := range p.Pieces {
		if c := p.Pieces[i].Cut; c != nil {
			n += len(c.Points)
		}
		for _, line := range p.Pieces[i].Sew {
			n += len(line.Points)
		}
	}
	return n
}

// Checked is what `check` tells of the draft.
func (w *Looked) Checked() checked.File { return checked.New(w.Request.Name, w.Pattern, w.Findings) }

// Sample is the workroom by which single files are read where there is no workroom file.
func Sample() *config.Workroom { return config.Sample(pattern.RuleNames()) }

// Passes tells whether a draft can be made: it has no error and asks no question.
func (w *Looked) Passes() bool {
	return !w.Refused && w.Hold == "" && pattern.Worst(w.Findings) != pattern.Error
}
