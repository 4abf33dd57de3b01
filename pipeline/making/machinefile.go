package making

import (
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/devices/gcode"
	"tracewheel/devices/hpgl"
	"tracewheel/devices/knife/blade"
	"tracewheel/geom"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/picture"
)

// machineFile gives the machine language of a file by its name's ending, "" for drafts.
func machineFile(name string) devices.Language {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".hpgl", ".hpg", ".plt", ".hp", ".pl2":
		return devices.HPGL
	case ".nc", ".ngc", ".gcode", ".tap":
		return devices.GCode
	}
	return ""
}

// pictureMachine draws a file in a machine's language as the machine would. With a device it is read by that device's
// limits. Its faults are in the Work.
func (m *Maker) pictureMachine(r Request, asCut bool, opt picture.Options) (*picture.Canvas, *Work, error) {
	w := &Work{Request: r}
	lang := machineFile(r.Name)
	if r.Device != "" {
		if _, ok := m.Room.Devices[r.Device]; !ok {
			return nil, nil, m.Room.NoDevice(r.Device)
		}
		w.Setup = m.setup(r.Device, "", m.measured(r.Device))
		if (w.Profile.Language == devices.GCode) != (lang == devices.GCode) {
			return nil, nil, fmt.Errorf("%s speaks %s, and %s is no such file by its name", r.Device, w.Profile.Language, r.Name)
		}
	}
	switch {
	case asCut && (w.Profile.Kind != devices.DragKnife || lang != devices.GCode):
		return nil, nil, errors.New("only a trailing blade's cut can be simulated: name a drag-knife with --device")
	case lang == devices.GCode:
		v := w.gcodeView(asCut)
		return picture.Device(v, opt), w, nil
	}
	v, err := w.readPlot()
	if err != nil {
		return nil, nil, err
	}
	return picture.Device(v, opt), w, nil
}

// readPlot reads a plotter's file and adds its faults to the findings.
func (w *Work) readPlot() (picture.View, error) {
	opt := hpgl.ReadOptions{}
	if w.Request.Device != "" {
		opt = hpgl.OptionsFor(w.Profile)
	}
	d, err := hpgl.Read(w.Request.Source, opt)
	if err != nil {
		return picture.View{}, err
	}
	for _, e := range d.Events {
		w.say(pattern.Severity(e.Severity), fmt.Sprintf("at byte %d: %s", e.Offset, e.Text), 0)
	}
	return PlotView(w.Request.Name, d), nil
}

// PlotView is the view of what an independent reader found that bytes draw, the pages side by side.
func PlotView(title string, d hpgl.Drawing) picture.View {
	v := picture.View{Title: title}
	step := 0.0
	for _, t := range d.Traces {
		step = math.Max(step, t.Path.Bound().Max[0])
	}
	const between = 20 // mm
	aside := func(page int) geom.Affine { return geom.Translate(float64(page)*(step+between), 0) }
	for _, t := range d.Traces {
		kind := look.FirstPen
		if t.Pen > 1 {
			kind = look.OtherPen
		}
		path := t.Path.Apply(aside(t.Page))
		if n := len(v.Layers); n > 0 && v.Layers[n-1].Kind == kind { // one layer for lines of a kind: a plot may have a hundred thousand lines
			v.Layers[n-1].Paths = append(v.Layers[n-1].Paths, path)
			continue
		}
		v.Layers = append(v.Layers, picture.Layer{Kind: kind, Paths: []geom.Path{path}})
	}
	for _, l := range d.Labels {
		strokes := l.Strokes()
		for k := range strokes {
			strokes[k] = strokes[k].Apply(aside(l.Page))
		}
		v.Layers = append(v.Layers, picture.Layer{Kind: look.Text, Paths: strokes})
	}
	return upright(v)
}

// gcodeView is the view of where a gantry's tool moves at or below the top face, or of what a simulated blade makes of it
// that starts at a right angle to the first cut.
func (w *Work) gcodeView(asCut bool) picture.View {
	opt := gcode.ReadOptions{}
	if w.Request.Device != "" {
		opt = gcode.OptionsFor(w.Profile)
	}
	tr := gcode.Read(w.Request.Source, opt)
	faults := tr.Faults
	if w.Request.Device != "" {
		faults = append(faults, gcode.Unsafe(tr, w.Profile)...)
	}
	for _, f := range faults {
		severity := pattern.Error
		if f.Hint {
			severity = pattern.Note
		}
		w.say(severity, f.Text, f.Line)
	}
	v := picture.View{Title: w.Request.Name, Width: w.Profile.Width, Length: w.Profile.Length}
	kind := look.ToolPath
	if asCut {
		v.Title += " as a simulated blade cuts it"
		kind = look.Wanted
	}
	for _, t := range gcode.Drawn(tr, devices.Knife, 0) {
		v.Layers = append(v.Layers, picture.Layer{Kind: kind, Paths: []geom.Path{t.Path}})
	}
	if asCut {
		res := blade.Simulate(tr.Moves, blade.Options{Offset: w.Profile.Blade.Offset, Heading: squareToFirst(tr.Moves)})
		for _, c := range res.Cuts {
			v.Layers = append(v.Layers, picture.Layer{Kind: look.AsCut, Paths: []geom.Path{c.Path}})
		}
	}
	return upright(v)
}

// squareToFirst is the direction at a right angle to the first move at or below the top face.
func squareToFirst(moves []devices.Move) float64 {
	for _, m := range moves {
		if m.FromZ <= 0 && m.ToZ <= 0 && m.From != m.To && !m.Rapid {
			d := geom.Sub(m.To, m.From)
			return math.Atan2(d[1], d[0]) + math.Pi/2
		}
	}
	return 0
}

// upright moves a view with lines left of or below zero so that all of it is seen.
func upright(v picture.View) picture.View {
	var least orb.Point
	for _, l := range v.Layers {
		for _, p := range l.Paths {
			b := p.Bound()
			least = orb.Point{math.Min(least[0], b.Min[0]), math.Min(least[1], b.Min[1])}
		}
	}
	if least == (orb.Point{}) {
		return v
	}
	for i := range v.Layers {
		for k, p := range v.Layers[i].Paths {
			v.Layers[i].Paths[k] = p.Apply(geom.Translate(-least[0], -least[1]))
		}
	}
	return v
}

// say adds a finding of a reader of a machine's language.
func (w *Work) say(severity pattern.Severity, text string, line int) {
	f := pattern.NewFinding(pattern.RuleUnreadable, text, "")
	f.Severity, f.Line = severity, line
	w.Findings = append(w.Findings, f)
}
