package knife_test

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/devices/gcode"
	"tracewheel/devices/knife"
	"tracewheel/devices/knife/blade"
	"tracewheel/geom"
)

// TestTangentialKnife: the pivot runs on the line, the axis points along it, and turns by at most
// a half turn at rest, clear of the cloth over the lift angle.
func TestTangentialKnife(t *testing.T) {
	p := devices.Default(devices.TangentialKnife, devices.GCode)
	p.Name, p.Length, p.Width = "tangential", 800, 600
	shape := star(orb.Point{300, 300}, 80)
	pr := prove(t, append(one(circle(orb.Point{300, 300}, 15)), one(shape)...), p)
	res := blade.Simulate(pr.trace.Moves, blade.Options{})
	for _, d := range blade.Compare(res.Cuts, pr.report.Wanted, blade.Tolerances{}) {
		t.Error(d)
	}
	for _, m := range pr.trace.Moves {
		turned := math.Abs(m.ToTurn - m.FromTurn)
		still := m.From == m.To
		switch {
		case still && turned > math.Pi+1e-4:
			t.Errorf("line %d turns by %v", m.Line, turned)
		case still && turned > p.Blade.LiftAngle*math.Pi/180 && m.ToZ <= 0:
			t.Errorf("line %d turns by %v in the cloth", m.Line, turned)
		case !still && m.ToZ < 0 && !m.Arc:
			if dir := math.Atan2(m.To[1]-m.From[1], m.To[0]-m.From[0]); geom.Dist(m.From, m.To) > 1 && math.Abs(math.Remainder(dir-m.ToTurn, 2*math.Pi)) > 0.02 {
				t.Errorf("line %d runs along %v with the blade at %v", m.Line, dir, m.ToTurn)
			}
		case m.Arc && math.Abs(m.ToTurn-m.FromTurn-m.Sweep) > 0.02:
			t.Errorf("line %d sweeps %v and turns the blade %v", m.Line, m.Sweep, m.ToTurn-m.FromTurn)
		}
	}
}

func TestPenRunsOnTheLine(t *testing.T) {
	p := devices.Default(devices.PenGantry, devices.GCode)
	p.Name, p.Length, p.Width = "pen", 800, 600
	p.Blade.SafeZ = 3
	strokes := []devices.Stroke{{Tool: devices.Pen, Role: "cut", Path: star(orb.Point{300, 300}, 80)}, {Tool: devices.Pen, Path: circle(orb.Point{300, 300}, 0.4)}}
	pr := prove(t, strokes, p)
	for i, s := range strokes {
		var drawn []geom.Path
		for _, d := range gcode.Drawn(pr.trace, devices.Pen, 0) {
			drawn = append(drawn, d.Path)
		}
		ix := geom.NewIndex(drawn...)
		for _, q := range s.Path.Points {
			if _, n := ix.Nearest(q); n.Dist > 0.025 {
				t.Errorf("stroke %d: %v is %.3f off what is drawn", i, q, n.Dist)
			}
		}
	}
}

// TestPenBesideTheBlade: its lines are drawn with the blade up, the pen and not the pivot on them,
// and the blade cuts on as if nothing had been.
func TestPenBesideTheBlade(t *testing.T) {
	p := table()
	p.Pen.Present = true
	p.Gantry.PenUp, p.Gantry.PenDown, p.Gantry.PenAt = []string{"M5"}, []string{"M3 S90"}, [2]float64{30, -5}
	grain := devices.Stroke{Tool: devices.Pen, Role: "grain", Path: open(orb.Point{150, 120}, orb.Point{150, 160})}
	label := devices.Stroke{Tool: devices.Pen, Role: "text", Path: circle(orb.Point{130, 140}, 4)}
	pr := prove(t, append([]devices.Stroke{grain, label}, append(one(unit), label)...), p)
	pr.check(t, p, 2)
	if bad := gcode.Unsafe(pr.trace, p); len(bad) > 0 {
		t.Error(bad)
	}
	text := string(pr.program.Bytes())
	if n := strings.Count(text, "M3 S90\n"); n != 3 {
		t.Errorf("the pen goes down %d times, want 3", n)
	}
	_, rest, _ := strings.Cut(text, "M3 S90\n")
	if want := "G1 X120 Y165 F3000\nM5\n"; !strings.HasPrefix(rest, want) {
		t.Errorf("after the pen is down: %.60q, want %q", rest, want)
	}
	p.Gantry.PenDown = nil
	if _, _, err := knife.Compensate([]devices.Stroke{grain}, p); err == nil || !contains(err.Error(), "pen_down") {
		t.Errorf("error %v, want one that names pen_down", err)
	}
}

// TestCalibratedCutIsUndone: sent through the inverse of the calibration, a calibrated program cuts
// what was wanted; the blade is simulated on the uncorrected path.
func TestCalibratedCutIsUndone(t *testing.T) {
	p := table()
	p.Correction = devices.Correction{ScaleX: 1.003, ScaleY: 0.998, Skew: 0.001}
	outline := unit
	pr := prove(t, append(one(circle(orb.Point{150, 140}, 12)), one(outline)...), p)
	back, _ := geom.Affine{A: 1.003, C: 0.001, D: 0.998}.Inverse()
	var moves []devices.Move
	for _, m := range pr.trace.Moves {
		if !m.Arc {
			m.From, m.To = back.Apply(m.From), back.Apply(m.To)
			moves = append(moves, m)
			continue
		}
		u := geom.Sub(m.From, m.Centre)
		v := geom.Left(u)
		if m.Sweep < 0 {
			v = geom.Mul(v, -1)
		}
		at := m.From
		for _, q := range geom.FlattenArc(nil, m.Centre, u, v, 0, math.Abs(m.Sweep), 1e-5) {
			step := m
			step.Arc, step.From, step.To = false, back.Apply(at), back.Apply(q)
			moves = append(moves, step)
			at = q
		}
	}
	pr.trace.Moves = moves
	pr.check(t, p, 1)
}
