package svg

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// The same outline drawn as one path, and as elements of its own in any order and direction: lines,
// an arc, a quadratic and a cubic curve, with smooth joins and corners.
func TestSplitOutlineIsTheSame(t *testing.T) {
	forth := []string{"M100 100L300 100", "M300 100A50 50 0 0 1 350 150", "M350 150L350 300", "M350 300Q340 400 250 380", "M250 380C200 420 120 400 100 300", "M100 300L100 100"}
	back := []string{"M300 100L100 100", "M350 150A50 50 0 0 0 300 100", "M350 300L350 150", "M250 380Q340 400 350 300", "M100 300C120 400 200 420 250 380", "M100 100L100 300"}
	whole := read(t, mm(`<path class="cut" d="M100 100L300 100A50 50 0 0 1 350 150L350 300Q340 400 250 380C200 420 120 400 100 300Z"/>`))
	want := whole.Pieces[0].Cut
	rapid.Check(t, func(rt *rapid.T) {
		order := rapid.Permutation([]int{0, 1, 2, 3, 4, 5}).Draw(rt, "order")
		var b strings.Builder
		for _, k := range order {
			d := forth[k]
			if rapid.Bool().Draw(rt, "turned") {
				d = back[k]
			}
			fmt.Fprintf(&b, `<path class="cut" d="%s"/>`, d)
		}
		p, err := Read([]byte(mm(b.String())), "t.svg", Options{})
		if err != nil || len(p.Pieces) != 1 || len(p.Findings) != 0 {
			rt.Fatalf("%v %+v", err, p)
		}
		samePath(rt, want, p.Pieces[0].Cut)
	})
}

func samePath(rt *rapid.T, want, got *geom.Path) {
	if !got.Closed || len(got.Points) != len(want.Points) {
		rt.Fatalf("%d points, want %d", len(got.Points), len(want.Points))
	}
	for i := range want.Points {
		if geom.Dist(got.Points[i], want.Points[i]) > 1e-9 || got.Corner(i) != want.Corner(i) {
			rt.Fatalf("point %d: %v corner %v, want %v corner %v", i, got.Points[i], got.Corner(i), want.Points[i], want.Corner(i))
		}
	}
}

// A small circle keeps its area: the answer files ask for 2e-4.
func TestSmallCurvesKeepTheirArea(t *testing.T) {
	for _, r := range []float64{3, 10, 28, 100, 1000} {
		for _, shape := range []string{
			fmt.Sprintf(`<circle class="cut" cx="500" cy="500" r="%v"/>`, r),
			fmt.Sprintf(`<path class="cut" d="M500 500a%v %v 0 0 1 %v 0a%v %v 0 0 1 %v 0z"/>`, r, r, 2*r, r, r, -2*r),
		} {
			p := read(t, mm(shape))
			if len(p.Pieces) != 1 || p.Pieces[0].Cut == nil {
				t.Fatalf("%s: %+v", shape, p)
			}
			near(t, shape, p.Pieces[0].Cut.Area()/(math.Pi*r*r), 1, 2e-4)
		}
	}
}

// A draft without any role waits for a person: its outline does not say what it is.
func TestNoRoleAnywhere(t *testing.T) {
	p := read(t, mm(`<rect width="300" height="200" stroke="red"/><rect x="50" y="50" width="20" height="20"/><path d="M400 0L500 0L500 90"/>`))
	if len(p.Pieces) != 1 || p.Pieces[0].CutSaid || p.Pieces[0].Cut == nil || len(p.Pieces[0].Cutouts) != 0 {
		t.Errorf("%+v", p.Pieces)
	}
	if found(p, pattern.RuleLeftOut) == nil {
		t.Errorf("%+v", p.Findings)
	}
}
