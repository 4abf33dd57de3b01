package geom

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"
)

// A follower says what a plain look at every stretch says, also where the points jump about.
func TestFollowerFindsTheNearest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coord := rapid.Float64Range(-100, 100)
		var paths []Path
		for range rapid.IntRange(1, 3).Draw(t, "paths") {
			p := Path{Closed: rapid.Bool().Draw(t, "closed")}
			for range rapid.IntRange(2, 40).Draw(t, "points") {
				p.Points = append(p.Points, orb.Point{coord.Draw(t, "x"), coord.Draw(t, "y")})
			}
			paths = append(paths, p)
		}
		f := NewIndex(paths...).Follow()
		for range 20 {
			q := orb.Point{coord.Draw(t, "qx"), coord.Draw(t, "qy")}
			best, which := math.Inf(1), -1
			for k, p := range paths {
				if d := p.Nearest(q).Dist; d < best {
					best, which = d, k
				}
			}
			path, n := f.Nearest(q)
			at, _ := paths[path].At(n.S)
			if math.Abs(n.Dist-best) > 1e-9 || Dist(at, n.Point) > 1e-6 || path != which && math.Abs(paths[path].Nearest(q).Dist-best) > 1e-9 {
				t.Fatalf("path %d at %v, %v off; want path %d, %v off", path, n.Point, n.Dist, which, best)
			}
		}
	})
	if path, n := NewIndex().Follow().Nearest(orb.Point{}); path != -1 || !math.IsInf(n.Dist, 1) {
		t.Error("something was found where nothing is")
	}
}
