package gcode

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// circleJob cuts a circle of radius r in quarters.
func circleJob(c orb.Point, r float64) []devices.Motion {
	on := func(k int) orb.Point {
		return geom.Add(c, geom.Rotate(float64(k)*math.Pi/2).Apply(orb.Point{r, 0}))
	}
	m := cut(-0.6, on(0))[:2]
	for k := 1; k <= 4; k++ {
		m = append(m, devices.Motion{Kind: devices.CutArc, To: on(k), Centre: c, CCW: true, Feed: 3000})
	}
	return append(m, devices.Motion{Kind: devices.Raise, To: on(4), Z: 5})
}

// TestCalibratedArcs: what is sent is the calibration's image of the circle, whether it stays a
// circle or becomes an ellipse whose arcs are fitted anew.
func TestCalibratedArcs(t *testing.T) {
	for _, c := range []devices.Correction{{}, {ScaleX: 1.003, ScaleY: 1.003}, {ScaleX: 1.004, ScaleY: 0.997, Skew: 0.002}, {ScaleX: 1, ScaleY: 1, Skew: 0.01}} {
		for _, arcs := range []bool{true, false} {
			for _, r := range []float64{0.5, 20, 300} {
				p := table()
				p.Correction, p.Gantry.Arcs = c, arcs
				centre := orb.Point{500, 500}
				tr := Read(encode(t, circleJob(centre, r), p).Bytes(), ReadOptions{})
				if len(tr.Faults) > 0 {
					t.Fatal(tr.Faults)
				}
				if notes := encode(t, circleJob(centre, r), p).Notes; (len(notes) == 1) != (!arcs || !c.Similar()) {
					t.Errorf("%+v, arcs %v: notes %q", c, arcs, notes)
				}
				back := geom.Identity
				if !c.IsZero() {
					back, _ = geom.Affine{A: c.ScaleX, C: c.Skew, D: c.ScaleY}.Inverse()
				}
				count, worst := 0, 0.0
				for _, m := range tr.Moves {
					if m.Arc {
						count++
					}
				}
				for _, d := range Drawn(tr, devices.Knife, 0) {
					for _, q := range d.Path.Points {
						worst = math.Max(worst, math.Abs(geom.Dist(back.Apply(q), centre)-r))
					}
				}
				if worst > geom.ArcFitTol {
					t.Errorf("%+v, radius %v, arcs %v: off the circle by %.4f mm", c, r, arcs, worst)
				}
				if arcs != (count > 0) {
					t.Errorf("%+v, radius %v: %d arcs, wanted any: %v", c, r, count, arcs)
				}
			}
		}
	}
}

func TestBlocksTellWhoseTheyAre(t *testing.T) {
	var m []devices.Motion
	for k := range 3 {
		for _, x := range cut(-0.6, orb.Point{10, 10 + float64(k)}, orb.Point{30, 10 + float64(k)}) {
			x.Stroke, x.Piece = k, k/2
			m = append(m, x)
		}
	}
	prog := encode(t, m, table())
	if prog.Strokes != 3 || prog.Pieces != 2 || math.Abs(prog.DrawnMM-60) > 1e-6 {
		t.Errorf("%d strokes, %d pieces, %.2f mm; want 3, 2, 60", prog.Strokes, prog.Pieces, prog.DrawnMM)
	}
	ends := 0
	down := false
	for i, b := range prog.Blocks {
		if n := strings.Count(string(b.Bytes), "\n"); n != 1 || !strings.HasSuffix(string(b.Bytes), "\n") {
			t.Errorf("block %d holds %d lines: %q", i, n, b.Bytes)
		}
		if b.EndsStroke {
			ends++
			if b.Down {
				t.Errorf("block %d ends a stroke with the tool down", i)
			}
		}
		down = down || b.Down
	}
	if ends != 3 || !down {
		t.Errorf("%d blocks end a stroke, want 3; any down: %v", ends, down)
	}
	if pre := string(devices.Program{Blocks: prog.Blocks[:prog.Prelude]}.Bytes()); pre != "G21\nG90 G17 G94\nG54\nG0 Z5\n" {
		t.Errorf("prelude %q", pre)
	}
	if tr := Read(prog.Abort, ReadOptions{}); len(tr.Faults) > 0 || len(tr.Moves) != 1 || tr.Moves[0].ToZ != 5 || !tr.Ended {
		t.Errorf("abort %q does not just lift and end: %v", prog.Abort, tr.Faults)
	}
	if bad := Unsafe(Read(prog.Bytes(), ReadOptions{}), table()); len(bad) > 0 {
		t.Error(bad)
	}
}

func TestUnsafeProgramsAreNamed(t *testing.T) {
	for prog, want := range map[string]string{
		"G21\nG0 X5\nG0 Z5\nM2":                                          "straight up",
		"G21\nG0 Z5\nG1 Z-0.5 F1\nG0 X5\nG0 Z5\nM2":                      "rapid across",
		"G21\nG0 Z5\nG1 Z-3 F1\nG0 Z5\nM2":                               "under the floor",
		"G21\nG0 Z5\nG0 X1601\nM2":                                       "leaves the bed",
		"G21\nG0 Z5\nG1 Z-0.5 F1\nM2":                                    "below the safe height",
		"G21\nG0 Z5\nG0 X5\nG2 X10 I2.5 J-50 F1\nG2 X5 I-2.5 J-1 F9\nM2": "leaves the bed",
	} {
		bad := Unsafe(Read([]byte(prog), ReadOptions{}), table())
		if len(bad) == 0 || !strings.Contains(bad[0].Text, want) {
			t.Errorf("%q: %v, want %q", prog, bad, want)
		}
	}
}

func TestPenByLinesOfItsOwn(t *testing.T) {
	p := devices.Default(devices.PenGantry, devices.GCode)
	p.Name, p.Length, p.Width = "pen", 400, 300
	p.Gantry.PenUp, p.Gantry.PenDown = []string{"M5"}, []string{"M3 S90"}
	got := string(encode(t, cut(0, orb.Point{1, 1}, orb.Point{2, 1}), p).Bytes())
	want := "G21\nG90 G17 G94\nG54\nM5\n(piece front)\nG0 X1 Y1\nM3 S90\nG1 X2 Y1 F3000\nM5\nM2\n"
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if bad := Unsafe(Read([]byte(got), ReadOptions{}), p); len(bad) > 0 {
		t.Error(bad)
	}
	p.Gantry.PenDown = nil
	if _, err := Encode(nil, p); err == nil {
		t.Error("a pen that goes up by a line and never down is taken")
	}
}

func BenchmarkEncode(b *testing.B) {
	var m []devices.Motion
	for k := range 30 {
		m = append(m, circleJob(orb.Point{100 + 40*float64(k), 500}, 50)...)
		for i := range 500 {
			m = append(m[:len(m)-1], devices.Motion{Kind: devices.CutLine, To: orb.Point{100 + float64(i), 400 + float64(i%7)}, Feed: 3000}, m[len(m)-1])
		}
	}
	p := table()
	for b.Loop() {
		if _, err := Encode(m, p); err != nil {
			b.Fatal(err)
		}
	}
}
