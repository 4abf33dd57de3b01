package geom

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
)

func TestArcCentreMakesBothRadiiAgree(t *testing.T) {
	a, b := orb.Point{10.001, 0}, orb.Point{0, 9.998}
	c := ArcCentre(a, b, orb.Point{0.003, -0.002})
	if d := math.Abs(Dist(a, c) - Dist(b, c)); d > 1e-12 {
		t.Errorf("radii differ by %g", d)
	}
	if Dist(c, orb.Point{}) > 0.01 {
		t.Errorf("centre went off to %v", c)
	}
	if got := ArcCentre(a, a, orb.Point{1, 2}); got != (orb.Point{1, 2}) {
		t.Errorf("no chord: centre %v, want it where it was", got)
	}
}
