//go:build geos

package exact

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/twpayne/go-geos"
)

// TestPairsBesideGEOS compares random pairs of concave outlines with GEOS: pairs that GEOS finds to overlap by a disc
// of 0.006 mm are refused, and refused pairs violate the gap in GEOS too.
func TestPairsBesideGEOS(t *testing.T) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewPCG(seed, 1))
	ctx := geos.NewContext()
	polygon := func(p []orb.Point) *geos.Geom {
		var ring [][]float64
		for _, q := range append(p[:len(p):len(p)], p[0]) {
			ring = append(ring, []float64{q[0], q[1]})
		}
		return ctx.NewPolygon([][][]float64{ring})
	}
	star := func(x, y float64) []orb.Point {
		n := 3 + r.IntN(20)
		out := make([]orb.Point, n)
		for i := range out {
			s, c := math.Sincos(2 * math.Pi * (float64(i) + 0.8*r.Float64()) / float64(n))
			d := 20 + 80*r.Float64()
			out[i] = orb.Point{x + d*c, y + d*s}
		}
		return out
	}
	refused, close := 0, 0
	for range 4000 {
		gap := []float64{0, 3}[r.IntN(2)]
		a, b := star(500, 500), star(400+200*r.Float64(), 400+200*r.Float64())
		ga, gb := polygon(a), polygon(b)
		// Move them until they touch or nearly: distant pairs prove little.
		if d := ga.Distance(gb); d > 0 && d < 60 && r.IntN(2) == 0 {
			at := ga.NearestPoints(gb)
			k := 1 - (gap-0.02+0.04*r.Float64())/d
			for i := range b {
				b[i][0] += (at[0][0] - at[1][0]) * k
				b[i][1] += (at[0][1] - at[1][1]) * k
			}
			gb = polygon(b)
			close++
		}
		deep := !ga.Buffer(-0.003, 8).Intersection(gb.Buffer(-0.003, 8)).IsEmpty()
		if gap > 0 {
			deep = ga.Distance(gb) < gap-0.006
		}
		near := ga.Distance(gb) < gap-0.004 || gap == 0 && ga.Intersects(gb)
		f := Check(Strip{Width: 1e4, Gap: gap}, []Piece{{Outline: a}, {Outline: b}})
		if len(f) > 0 {
			refused++
		}
		if deep && len(f) == 0 || len(f) > 0 && !near {
			t.Fatalf("gap %g: GEOS says distance %g, overlap %v; here %v\n%v\n%v", gap, ga.Distance(gb), deep, f, a, b)
		}
	}
	if refused < 500 || close < 100 {
		t.Errorf("%d of 4000 were refused and %d lay close: the test says little", refused, close)
	}
}
