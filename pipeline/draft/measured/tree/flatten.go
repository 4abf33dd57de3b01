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
	var prev curve.Segment
	for _, ed := range edges {
		if len(ed.Curve) > 0 {
			prev = ed.Curve[len(ed.Curve)-1]
		}
	}
	for _, ed := range edges {
		firsts = append(firsts, len(out.Points))
		for _, s := range ed.Curve {
			in, dir := prev.Dir(1), s.Dir(0)
			prev = s
			turn := math.Abs(math.Atan2(geom.Cross(in, dir), geom.Dot(in, dir)))
			out.Points = append(out.Points, e.ToMM(s.From))
			out.Corners = append(out.Corners, turn > 0.01)
			out.Points = s.Apply(geom.Affine{A: e.UnitMM, D: -e.UnitMM}).Flatten(out.Points, tol)
			out.Points = out.Points[:len(out.Points)-1] // the next stretch's
			for len(out.Corners) < len(out.Points) {
				out.Corners = append(out.Corners, false)
			}
		}
	}
	return out, firsts
}

// ToMM brings a point from the draft's frame to the pattern's: mm, y up.
func (e *Context) ToMM(q orb.Point) orb.Point { return geom.Mul(orb.Point{q[0], -q[1]}, e.UnitMM) }
