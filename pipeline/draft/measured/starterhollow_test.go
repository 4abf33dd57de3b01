package measured

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
)

// along are points of a curve, 2,000 of them.
func along(c curve.Curve) (out []orb.Point) {
	for k := range 2001 {
		p, _ := c.At(c.Length() * float64(k) / 2000)
		out = append(out, p)
	}
	return out
}

// How far curves lie out, which the sheet of the recipes computed apart from this program (1.1, 1.9, 1.10): the armhole's
// hollowest point beyond the line across front and back, the hip curve from the straight line between its ends, and the
// crotch from the corner of plumb and level.
func TestCurvesLieOut(t *testing.T) {
	const digit = 0.0501 // the sheet prints tenths, hundredths where two digits stand
	for _, body := range []byte("ABCDEH") {
		e, err := recipeOf("bodice-block.yaml").drawn(t, body)
		if err != nil {
			t.Fatal(err)
		}
		for name, want := range map[string][3]float64{"front": {0.4, 1.1, -0.1}, "back": {-0.25, 1.0, -2.5}} {
			hollow := math.Inf(1)
			for _, p := range along(e.Drawings[name].Scope.Definitions["armhole"].Curve) {
				hollow = math.Min(hollow, p[0])
			}
			out := hollow - value(t, e, "across "+name+"/2")
			if body == 'D' {
				if math.Abs(out-want[2]) > digit {
					t.Errorf("D: the hollowest point of the %s armhole lies %.3f out of the across line, want %v", name, out, want[2])
				}
			} else if out < want[0]-digit || out > want[1]+digit {
				t.Errorf("%c: the hollowest point of the %s armhole lies %.3f out of the across line, want %v to %v", body, name, out, want[0], want[1])
			}
		}
	}
	least, most := math.Inf(1), 0.0
	for _, body := range []byte("ABCDEFGH") {
		e, err := recipeOf("straight-skirt.yaml").drawn(t, body)
		if err != nil {
			t.Fatal(err)
		}
		c := e.Drawings["front"].Scope.Definitions["hip curve"].Curve
		far := 0.0
		for _, p := range along(c) {
			u := geom.Unit(geom.Sub(c.End(), c.Start()))
			far = math.Max(far, math.Abs(geom.Cross(u, geom.Sub(p, c.Start()))))
		}
		least, most = math.Min(least, far), math.Max(most, far)
	}
	if math.Abs(least-0.25) > 0.005 || math.Abs(most-0.7) > digit {
		t.Errorf("hip curves lie %.3f to %.3f outside the straight line, want 0.25 to 0.7", least, most)
	}
	e, err := recipeOf("trousers.yaml").drawn(t, 'A')
	if err != nil {
		t.Fatal(err)
	}
	c := e.Drawings["front"].Scope.Definitions["crotch"].Curve
	corner, near := orb.Point{c.Start()[0], c.End()[1]}, math.Inf(1)
	for _, p := range along(c) {
		near = math.Min(near, geom.Dist(p, corner))
	}
	if math.Abs(near-2.2) > digit {
		t.Errorf("the crotch passes %.3f from its corner, want 2.2", near)
	}
}
