package gcode

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

// kinds lists the faults of a program, hints in brackets.
func kinds(t Trace) string {
	var out []string
	for _, f := range t.Faults {
		s := string(f.Kind)
		if f.Hint {
			s = "[" + s + "]"
		}
		out = append(out, s)
	}
	return strings.Join(out, " ")
}

// TestReaderRules checks the reader against the rules of RS274/NGC (Kramer, Proctor, Messina, NISTIR 6556, 2000) and
// against what a later open interpreter does with these lines.
func TestReaderRules(t *testing.T) {
	const head = "G21\nG90 G17 G94\nG54\nG0 Z5\n"
	for _, c := range []struct{ line, want string }{
		{"g1 x1 0y- 2.5 f100", ""}, // blanks and case do not matter
		{"G1 X1e1 F100", "syntax"}, // no exponent
		{"G1 X1,5 F100", "syntax"}, // no comma
		{"G1 XNaN F100", "syntax"}, //
		{"G1 X. F100", "syntax"},   // a number needs a digit
		{"G1 X+.5 F100", ""},       //
		{"N10 G1 X1 F1", ""},       // a line number comes first
		{"G1 N10 X1 F1", "syntax"}, //
		{"N-1 G1 X1 F1", "syntax"}, //
		{"/ N10 G1 X1 F1", ""},     // block delete comes before it
		{"G1 X1 X2 F1", "syntax"},  // one word of a letter
		{"G0 G1 X1 F1", "modal-conflict"},
		{"G90 G91 X1", "modal-conflict"},
		{"M3 M5", "modal-conflict"},
		{"M7 M8", ""},
		{"M3 M7 M8 M48 M0", "modal-conflict"}, // four at most
		{"G1 X1", "no-feed"},
		{"G1 X1 F0", "no-feed"},
		{"G1 X1 F-5", "no-feed"},
		{"G93 G1 X1 F2\nX2", "no-feed"}, // inverse time needs one on each line
		{"F100\nG93\nG94\nG1 X1", "no-feed"},
		{"G80 X1", "no-motion-mode"},
		{"G2 X1 F1", "missing-word"}, // no centre
		{"G1 F1", "missing-word"},
		{"G4", "missing-word"},
		{"G4 P1 X5", ""}, // dwells, then moves by the motion in force
		{"G53 G0 X1", ""},
		{"G91 G53 G0 X1", "modal-conflict"},
		{"G53 G2 X1 I1 F1", "modal-conflict"},
		{"G2 X2 Y0 I1 K0 F1", "unused-word"},
		{"G2 X2 R1 I1 F1", "unused-word"},
		{"G1 X1 I1 F1", "unused-word"},
		{"G2 X0 Y0 R1 F1", "missing-word"}, // a full circle by R
		{"G2 X3 Y0 R1 F1", "arc-radius"},
		{"G2 X2 Y0 R1 F1", ""},
		{"G90.1 G2 X2 Y0 I1 F1", "missing-word"},
		{"G90.1 G2 X2 Y0 I1 J0 F1", ""},
		{"G41 D1", "unknown-code"},
		{"G81 X1 Z-1 R1 F1", "unknown-code"},
		{"G1.5 X1", "unknown-code"},
		{"M99", "unknown-code"},
		{"#1=5", "unknown-code"},
		{"G1 X[1+2] F1", "unknown-code"},
		{"(front (left) G1 Z-9)", "syntax"}, // a comment in a comment
		{"(open", "syntax"},
		{"G0 X1 )", "syntax"},
		{"G0 X(why)1", "syntax"},
		{"G0 X1 ; (to the end of the line", ""},
		{"G0 (so) X1", ""},
		{"(cut me!)", "[live-byte]"},
		{"(Ärmel)", "[live-byte]"},
		{"G0 X" + strings.Repeat("0", 260), "line-too-long"},
		{"%", "unmatched-percent"},
		{"G28", ""},
		{"G0 G28 X1", "modal-conflict"},
		{"G18 G2 X2 Z5 I1 F1", ""},
		{"G19 G3 Y2 Z5 J1 F1", ""},
		{"G61\nG64\nG40\nG49", ""},
	} {
		got := kinds(Read([]byte(head+c.line+"\nM2\n"), ReadOptions{}))
		if got != c.want {
			t.Errorf("%q: faults %q, want %q", c.line, got, c.want)
		}
	}
}

// TestRadiusRules: an arc of radius 10 whose end is off by a gap. The report of 2000 allows 0.002 mm; the later
// documented rule 0.005 mm, above that 0.1 % of the radius, at most 0.5 mm.
func TestRadiusRules(t *testing.T) {
	for _, c := range []struct {
		r, gap float64
		want   string
	}{
		{10, 0.001, ""}, {10, 0.0021, "[arc-radius-tight]"}, {10, 0.0049, "[arc-radius-tight]"},
		{10, 0.009, "[arc-radius-tight]"}, {10, 0.011, "arc-radius"}, {1, 0.006, "arc-radius"},
		{1000, 0.4, "[arc-radius-tight]"}, {1000, 0.6, "arc-radius"},
	} {
		p := printer{5, 1e5}
		prog := "G21\nG3 X0 Y" + p.mm(2*c.r+c.gap) + " I0 J" + p.mm(c.r) + " F100\nM2\n"
		if got := kinds(Read([]byte(prog), ReadOptions{})); got != c.want {
			t.Errorf("radius %v, gap %v: %q, want %q", c.r, c.gap, got, c.want)
		}
	}
}

func TestReaderMoves(t *testing.T) {
	at := func(prog string) (Trace, orb.Point, float64) {
		tr := Read([]byte(prog), ReadOptions{Stored: [3]float64{1, 2, 30}})
		if e := tr.Errors(); len(e) > 0 {
			t.Fatalf("%q: %v", prog, e)
		}
		m := tr.Moves[len(tr.Moves)-1]
		return tr, m.To, m.ToZ
	}
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-9 {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	_, p, _ := at("G20\nG1 X1 Y-2 F10\nM2")
	near("inches", p[0], 25.4)
	near("inches", p[1], -50.8)
	tr, _, _ := at("G20\nG21 G1 X1 F100\nM2") // F is read before the units: inches a minute
	near("feed", tr.Moves[0].Feed, 2540)
	_, p, z := at("G21\nG91 G0 X1 Y1\nX2\nG90 Z4\nM2")
	near("incremental", p[0], 3)
	near("incremental", p[1], 1)
	near("absolute again", z, 4)
	tr, _, _ = at("G21\nG1 X5 M2\nX9"[0:4] + "G1 X5 F1 M2\nG1 X9 F1")
	near("M2 comes after the motion", tr.Moves[len(tr.Moves)-1].To[0], 5)
	if !tr.Ended || len(tr.Moves) != 1 {
		t.Errorf("it read on after M2: %v", tr.Moves)
	}
	tr, _, _ = at("G21\nG93 G1 X30 F2\nM2") // two a minute, 30 mm
	near("inverse time", tr.Moves[0].Feed, 60)
	tr, p, z = at("G21\nG0 X9 Y9 Z9\nG28 Z20\nM2") // over Z20, then on Z only
	near("G28", z, 30)
	near("G28", p[0], 9)
	if len(tr.Moves) != 3 {
		t.Errorf("G28 made %d moves, want the waypoint and the stored point", len(tr.Moves)-1)
	}
	tr, _, _ = at("G21\nG4 P1.5 G0 X1\nM2")
	near("dwell", tr.Dwell, 1.5)
	tr, _, z = at("G21\nG18 G3 X-10 Z0 I-5 F100\nM2")
	top := 0.0
	for _, m := range tr.Moves {
		top = math.Max(top, math.Abs(m.ToZ))
	}
	if math.Abs(top-5) > 0.01 || z != 0 {
		t.Errorf("half circle in XZ reaches Z %v and ends at %v, want 5 and 0", top, z)
	}
}

func TestReaderArcs(t *testing.T) {
	for _, c := range []struct {
		line   string
		sweep  float64 // degrees
		cx, cy float64
	}{
		{"G3 X0 Y10 I-10 J0", 90, 0, 0},
		{"G2 X0 Y10 I-10 J0", -270, 0, 0},
		{"G3 X0 Y10 R10", 90, 0, 0},
		{"G3 X0 Y10 R-10", 270, 10, 10},
		{"G2 X0 Y10 R10", -90, 10, 10},
		{"G3 X10 Y0 I-10", 360, 0, 0},                       // an end at the start is a full circle
		{"G2 X10 Y0 J10", -360, 10, 10},                     // a missing centre word is 0
		{"G3 X10 Y-0.0001 I-10 J0", 359.9994, 0, 0},         // slightly before the start
		{"G90.1 G3 X0 Y10 I0 J0", 90, 0, 0},                 // absolute centre
		{"G91 G3 X-10 Y10 I-10 J0", 90, 0, 0},               // relative end
		{"G20 G3 X0 Y0.3937007874 R0.3937007874", 90, 0, 0}, // inches
	} {
		tr := Read([]byte("G21 G0 X10 Y0\nF100\n"+c.line+"\nM2\n"), ReadOptions{})
		if e := tr.Errors(); len(e) > 0 {
			t.Errorf("%s: %v", c.line, e)
			continue
		}
		m := tr.Moves[1]
		if !m.Arc || math.Abs(m.Sweep*180/math.Pi-c.sweep) > 1e-3 || math.Hypot(m.Centre[0]-c.cx, m.Centre[1]-c.cy) > 1e-6 {
			t.Errorf("%s: sweep %.4f about %v, want %.4f about (%v, %v)", c.line, m.Sweep*180/math.Pi, m.Centre, c.sweep, c.cx, c.cy)
		}
	}
}

// FuzzRead: the reader ends for any input, and its moves are finite and join end to end.
func FuzzRead(f *testing.F) {
	f.Add([]byte("G21\nG90 G17 G94\nG0 Z5\nG0X1Y2\nG1 Z-1 F5\nG3 X3 Y4 I1 J1\nM2\n"))
	f.Add([]byte("%\nG20 (a) G2 X1 R-1 F1\n%\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		tr := Read(data, ReadOptions{})
		for i, m := range tr.Moves {
			if math.IsNaN(m.To[0] + m.To[1] + m.ToZ + m.Sweep + m.Centre[0]) {
				t.Fatalf("move %d is no number: %+v", i, m)
			}
			if i > 0 && (m.From != tr.Moves[i-1].To || m.FromZ != tr.Moves[i-1].ToZ) {
				t.Fatalf("move %d does not begin where the one before ended", i)
			}
		}
	})
}
