package warp

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/curve"
)

// TestFittingAfterFitting: a seam that is let out at one fitting after the other lies where the same in one would have it,
// and is not drawn in eight times as many parts after each.
func TestFittingAfterFitting(t *testing.T) {
	corners := []orb.Point{{0, 0}, {200, 0}, {200, 600}, {0, 600}}
	var ring []curve.Edge
	for i, name := range []string{"waist", "side", "hem", "centre"} {
		ring = append(ring, curve.Edge{Name: name, Curve: curve.Curve{curve.LineSeg(corners[i], corners[(i+1)%4])}})
	}
	for n := 1; n <= 4; n++ {
		var ok bool
		if ring, _, ok = SeamIn(ring, []string{"side"}).Shifted([]Knot{{0, 2}, {600, 2}}); !ok {
			t.Fatalf("fitting %d is not drawn", n)
		}
		side := ring[1].Curve
		if len(side) > 2*warpParts {
			t.Errorf("after fitting %d the side is drawn in %d parts", n, len(side))
		}
		for _, g := range side {
			if x := 200 + 2*float64(n); math.Abs(g.From[0]-x) > 1e-6 || math.Abs(g.At(0.5)[0]-x) > 1e-6 {
				t.Errorf("after fitting %d the side lies at %.6f, want %.0f", n, g.At(0.5)[0], x)
			}
		}
	}
}
