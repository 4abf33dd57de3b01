// Package machinefile reads files in a machine's language: it takes bytes and the device whose limits hold, and gives the
// view of what the machine would draw or cut, with findings.
package machinefile

import (
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

// Language gives the machine language of a file by its name's ending, "" for drafts.
func Language(name string) devices.Language {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".hpgl", ".hpg", ".plt", ".hp", ".pl2":
		return devices.HPGL
	case ".nc", ".ngc", ".gcode", ".tap":
		return devices.GCode
	}
	return ""
}

// Plot is the view of a plotter's file; on is nil without a device.
func Plot(name string, source []byte, on *devices.Profile) (v picture.View, found []pattern.Finding, err error) {
	opt := hpgl.ReadOptions{}
	if on != nil {
		opt = hpgl.OptionsFor(*on)
	}
	d, err := hpgl.Read(source, opt)
	if err != nil {
		return v, nil, err
	}
	for _, e := range d.Events {
		found = append(found, finding(pattern.Severity(e.Severity), fmt.Sprintf("at byte %d: %s", e.Offset, e.Text), 0))
	}
	return PlotView(name, d), found, nil
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

// GCode is the view of where a gantry's tool moves at or below the top face; on is nil without a device. With asCut it
// shows what a simulated blade makes of it that starts at a right angle to the first cut, and needs a device.
func GCode(name string, source []byte, on *devices.Profile, asCut bool) (v picture.View, found []pattern.Finding) {
	v.Title = name
	opt := gcode.ReadOptions{}
	if on != nil {
		v.Width, v.Length, opt = on.Width, on.Length, gcode.OptionsFor(*on)
	}
	tr := gcode.Read(source, opt)
	faults := tr.Faults
	if on != nil {
		faults = append(faults, gcode.Unsafe(tr, *on)...)
	}
	for _, f := range faults {
		severity := pattern.Error
		if f.Hint {
			severity = pattern.Note
		}
		found = append(found, finding(severity, f.Text, f.Line))
	}
	kind := look.ToolPath
	if asCut {
		v.Title += " as a simulated blade cuts it"
		kind = look.Wanted
	}
	for _, t := range gcode.Drawn(tr, devices.Knife, 0) {
		v.Layers = append(v.Layers, picture.Layer{Kind: kind, Paths: []geom.Path{t.Path}})
	}
	if asCut {
		res := blade.Simulate(tr.Moves, blade.Options{Offset: on.Blade.Offset, Heading: squareToFirst(tr.Moves)})
		for _, c := range res.Cuts {
			v.Layers = append(v.Layers, picture.Layer{Kind: look.AsCut, Paths: []geom.Path{c.Path}})
		}
	}
	return upright(v), found
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

func finding(severity pattern.Severity, text string, line int) pattern.Finding {
	f := pattern.NewFinding(pattern.RuleUnreadable, text, "")
	f.Severity, f.Line = severity, line
	return f
}
