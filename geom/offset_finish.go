package geom

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// smoothTurn is the tangent of the turn below which a vertex between two stretches of one edge is no
// corner, whatever made it.
const smoothTurn = 0.05

// finish brings rings back into the outline's place, drops vertices that say nothing, marks
// corners and turns outer rings counter-clockwise.
func (o *offsetter) finish(rings []OffsetRing) []OffsetRing {
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
func (r *OffsetRing) reverse() {
	slices.Reverse(r.Path.Points[1:])
	slices.Reverse(r.Path.Corners[1:])
	slices.Reverse(r.Edge)
}

// straighten drops vertices on a straight stretch of one edge.
func (r *OffsetRing) straighten() {
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
	u, v := Sub(b, a), Sub(c, b)
	x := Cross(u, v)
	return Dot(u, v) > 0 && x*x <= 1e-18*max(Dot(u, u), Dot(v, v))
}

// smoothen takes the mark off cut places that hardly turn and lie within one edge.
func (r *OffsetRing) smoothen() {
	n := len(r.Edge)
	dir := func(i int) orb.Point { return Sub(r.Path.Points[(i+1)%n], r.Path.Points[i]) }
	for i := range n {
		before := (i + n - 1) % n
		if !r.Path.Corners[i] || r.Edge[before] != r.Edge[i] || r.Edge[i] < 0 {
			continue
		}
		u, v := dir(before), dir(i)
		if c := Dot(u, v); c > 0 && math.Abs(Cross(u, v)) < smoothTurn*c {
			r.Path.Corners[i] = false
		}
	}
}
