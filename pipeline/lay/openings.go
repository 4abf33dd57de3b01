package lay

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// openings are the cut-outs of a piece without lines inside: other pieces may lie in them.
func openings(r *pattern.Ready, base geom.Affine) (out [][]orb.Point) {
	const near, step = 0.05, 5.0 // mm: how far a mark may reach in, and the sampling step along a line
	for _, c := range r.Cutouts() {
		box, ix := c.Bound(), geom.NewIndex(c)
		inside := func(p orb.Point) bool {
			if !box.Contains(p) || !c.Contains(p) {
				return false
			}
			_, n := ix.Nearest(p)
			return n.Dist > near
		}
		if !slices.ContainsFunc(r.Lines, func(l pattern.Line) bool {
			if l.Role == pattern.RoleCutout || len(l.Path.Points) == 0 || !box.Intersects(l.Path.Bound()) {
				return false
			}
			for i := range l.Path.Segments() {
				a, b := l.Path.Segment(i)
				n := math.Ceil(geom.Dist(a, b) / step)
				for k := range int(n) {
					if inside(geom.Lerp(a, b, float64(k)/n)) {
						return true
					}
				}
			}
			return inside(l.Path.Points[len(l.Path.Points)-1])
		}) {
			out = append(out, c.Apply(base).Points)
		}
	}
	return out
}
