package tree

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
)

// Flatten makes one closed line of the edges, corners marked where the direction breaks, and tells
// at which vertex each edge begins.
func (e *Context) Flatten(edges []curve.Edge) (geom.Path, []int) {
	return e.FlattenTo(edges, geom.FlattenTol)
}

// FlattenTo is Flatten with chords that leave the curve by at most tol, in mm.
func (e *Context) FlattenTo(edges []curve.Edge, tol float64) (geom.Path, []int) {
	out := geom.Path{Closed: true}
	var firsts []int
	var all curve.Curve
	for _, ed := range edges {
		all = append(all, ed.Curve...)
	}
	k := 0
	for _, ed := range edges {
		firsts = append(firsts, len(out.Points))
		for _, s := range ed.Curve {
			prev := all[(k+len(all)-1)%len(all)]
			in, dir := prev.Dir(1), s.Dir(0)
			turn := math.Abs(math.Atan2(geom.Cross(in, dir), geom.Dot(in, dir)))
			out.Points = append(out.Points, e.ToMM(s.From))
			out.Corners = append(out.Corners, turn > 0.01)
			ms := s.Apply(geom.Affine{A: e.UnitMM, D: -e.UnitMM})
			pts := ms.Flatten(nil, tol)
			for _, q := range pts[:len(pts)-1] {
				out.Points, out.Corners = append(out.Points, q), append(out.Corners, false)
			}
			k++
		}
	}
	return out, firsts
}

// ToMM brings a point from the draft's frame to the pattern's: mm, y up.
func (e *Context) ToMM(q orb.Point) orb.Point { return geom.Mul(orb.Point{q[0], -q[1]}, e.UnitMM) }
