package offset

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// smoothTurn is the tangent of the turn below which a vertex between two stretches of one edge is no
// corner, whatever made it.
const smoothTurn = 0.05

// finish brings rings back into the outline's place, drops vertices that say nothing, marks
// corners and turns outer rings counter-clockwise.
func (o *offsetter) finish(rings []Ring) []Ring {
	for k := range rings {
		r := &rings[k]
		r.straighten()
		r.smoothen()
		for i, p := range r.Path.Points {
			r.Path.Points[i] = o.out(p)
		}
		if o.mirror {
			r.reverse()
		}
	}
	return rings
}

// reverse turns a ring round, its first point staying first; the label of a stretch goes with it.
func (r *Ring) reverse() {
	slices.Reverse(r.Path.Points[1:])
	slices.Reverse(r.Path.Corners[1:])
	slices.Reverse(r.Edge)
}

// straighten drops vertices on a straight stretch of one edge.
func (r *Ring) straighten() {
	n := len(r.Edge)
	p := r.Path.Points
	k := 0
	before, a := r.Edge[n-1], p[n-1]
	first := p[0]
	for i := range n {
		b, c := p[i], first
		if i+1 < n {
			c = p[i+1]
		}
		edge := r.Edge[i]
		if edge == before && n-i+k > 3 && onStraight(a, b, c) {
			continue
		}
		before, a = edge, b
		p[k], r.Path.Corners[k], r.Edge[k] = b, r.Path.Corners[i], edge
		k++
	}
	r.Path.Points, r.Path.Corners, r.Edge = p[:k], r.Path.Corners[:k], r.Edge[:k]
}

// onStraight tells whether b lies between a and c within 1e-9 mm.
func onStraight(a, b, c orb.Point) bool {
	u, v := geom.Sub(b, a), geom.Sub(c, b)
	x := geom.Cross(u, v)
	return geom.Dot(u, v) > 0 && x*x <= 1e-18*max(geom.Dot(u, u), geom.Dot(v, v))
}

// smoothen takes the mark off cut places that hardly turn and lie within one edge.
func (r *Ring) smoothen() {
	n := len(r.Edge)
	dir := func(i int) orb.Point { return geom.Sub(r.Path.Points[(i+1)%n], r.Path.Points[i]) }
	for i := range n {
		before := (i + n - 1) % n
		if !r.Path.Corners[i] || r.Edge[before] != r.Edge[i] || r.Edge[i] < 0 {
			continue
		}
		u, v := dir(before), dir(i)
		if c := geom.Dot(u, v); c > 0 && math.Abs(geom.Cross(u, v)) < smoothTurn*c {
			r.Path.Corners[i] = false
		}
	}
}
