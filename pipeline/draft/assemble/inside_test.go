package assemble

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"tracewheel/geom"
)

// The bands tell the same as the plain walk round the outline.
func TestInsideAgainstPlainWalk(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := geom.Path{Closed: true}
		n := rapid.IntRange(3, 60).Draw(rt, "points")
		for i := range n {
			r := rapid.Float64Range(5, 100).Draw(rt, "radius")
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			p.Points = append(p.Points, orb.Point{r * c, r * s})
		}
		in := newInside(p)
		for range 20 {
			q := orb.Point{rapid.Float64Range(-110, 110).Draw(rt, "x"), rapid.Float64Range(-110, 110).Draw(rt, "y")}
			if p.Nearest(q).Dist < 1e-6 {
				continue
			}
			if got, _ := in.holds(q); got != p.Contains(q) {
				rt.Fatalf("%v in %v: %v", q, p.Points, got)
			}
		}
	})
}
