package look

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// TestLines: the lines drawn for a line 100 mm long from (0, 0), by kind; sizes from the table of line kinds.
func TestLines(t *testing.T) {
	line := open(orb.Point{0, 0}, orb.Point{100, 0})
	count := map[Kind]int{Cut: 1, Sew: 1, Mark: 1, Slit: 3, Loop: 3, Buttonhole: 3, Gathers: 1, Ease: 1, LengthenHere: 2, LaidTo: 2, Button: 1, BustPoint: 3}
	for k, want := range count {
		if got := len(Lines(k, line)); got != want {
			t.Errorf("%s: %d lines, want %d", k, got, want)
		}
	}
	for _, e := range Lines(Buttonhole, line)[1:] {
		if math.Abs(e.Length()-4) > 1e-9 || e.Points[0][0] != e.Points[1][0] {
			t.Errorf("a bar %v", e.Points)
		}
	}
	w := Lines(Gathers, line)[0]
	high, low, crossings := 0.0, 0.0, 0
	for i, p := range w.Points {
		high, low = math.Max(high, p[1]), math.Min(low, p[1])
		if i > 0 && (p[1] > 1e-9) != (w.Points[i-1][1] > 1e-9) {
			crossings++
		}
	}
	if math.Abs(high-1) > 1e-9 || math.Abs(low+1) > 1e-9 || crossings != 50 || geom.Dist(w.Points[len(w.Points)-1], orb.Point{100, 0}) > 1e-9 {
		t.Errorf("a wave from %v to %v that crosses the line %d times: 25 waves of 4 are wanted", low, high, crossings)
	}
	two := Lines(LengthenHere, line)
	if d := math.Abs(two[0].Points[0][1] - two[1].Points[0][1]); math.Abs(d-3) > 1e-9 {
		t.Errorf("two lines %v apart", d)
	}
	if r := Lines(Button, line)[0]; !r.Closed || math.Abs(r.Bound().Max[0]-53) > 0.02 || math.Abs(r.Bound().Min[1]+3) > 0.02 {
		t.Errorf("a ring over %v", r.Bound())
	}
	if h := Lines(LaidTo, line)[1]; h.Points[1] != (orb.Point{100, 0}) || h.Points[0][0] >= 100 || h.Points[2][0] >= 100 {
		t.Errorf("an arrow head %v", h.Points)
	}
	// A single point, and a closed line, are not changed.
	for _, p := range []geom.Path{open(orb.Point{1, 2}), box(20, 10), open(orb.Point{1, 2}, orb.Point{1, 2})} {
		if got := Lines(Gathers, p); len(got) != 1 || len(got[0].Points) != len(p.Points) {
			t.Errorf("%v became %v", p, got)
		}
	}
}

// TestCalled: a draft's name for an inner line gives its kind, in upper or lower case.
func TestCalled(t *testing.T) {
	for label, want := range map[string]Kind{"Buttonhole": Buttonhole, " bust point": BustPoint, "Lengthen or shorten here": LengthenHere, "WAIST": Quality, "pocket line": Mark, "": Mark} {
		if got := KindOf("mark", label); got != want {
			t.Errorf("%q is %s, want %s", label, got, want)
		}
	}
}
