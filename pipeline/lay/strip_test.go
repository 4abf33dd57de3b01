package lay

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// TestFacingInTwo cuts a neck facing, a U 300 by 200 mm whose arms and foot are 50 wide, at its fold. By hand: 300 x
// 200 less 200 x 150 are 30000 mm2, and each half has a strip 10 by 50 more for the seam.
func TestFacingInTwo(t *testing.T) {
	u := pattern.Ready{Name: "neck facing", Copy: 1, Copies: 1, OnFold: &pattern.Segment{A: orb.Point{150, 0}, B: orb.Point{150, 50}},
		Outline: geom.Path{Closed: true, Points: []orb.Point{{0, 0}, {150, 0}, {300, 0}, {300, 200}, {250, 200}, {250, 50}, {150, 50}, {50, 50}, {50, 200}, {0, 200}}}}
	skirt := pattern.Ready{Name: "skirt", OnFold: u.OnFold, Outline: geom.Path{Closed: true, Points: []orb.Point{{0, 0}, {300, 0}, {300, 700}, {0, 700}}}}
	all := []pattern.Ready{skirt, u}
	if i := LongestFolded(all); i != 1 {
		t.Fatalf("the facing is %d", i)
	}
	if i := LongestFolded(all[:1]); i >= 0 {
		t.Error("a skirt is taken for a facing")
	}
	parts := HalvedAtFold(all, "neck facing")
	if len(parts) != 3 {
		t.Fatalf("%d parts", len(parts))
	}
	for _, p := range parts[1:] {
		b := p.Outline.Bound()
		if got := p.Outline.Area(); math.Abs(got-15500) > 1e-6 || math.Abs(b.Max[0]-b.Min[0]-160) > 1e-9 || p.Outline.SignedArea() < 0 {
			t.Errorf("a half has %.1f mm2 and is %.1f wide, want 15500 and 160", got, b.Max[0]-b.Min[0])
		}
	}
}
