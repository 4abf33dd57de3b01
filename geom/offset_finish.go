package geom

import (
	"math"

	"github.com/paulmach/orb"
)

// smoothTurn is the turn in radians below which a vertex between two stretches of one edge is no
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

// reverse turns a ring round; the label of a stretch goes with it.
func (r *OffsetRing) reverse() {
	n := len(r.Edge)
	r.Path = r.Path.Reversed()
	edge := make([]int, n)
	for i := range edge {
		edge[i] = r.Edge[n-1-i]
	}
	r.Edge = edge
}

// straighten drops vertices on a straight stretch of one edge.
func (r *OffsetRing) straighten() {
	n := len(r.Edge)
	p := r.Path.Points
	kept := Path{Closed: true}
	var edge []int
	for i := range n {
		b := p[i]
		a := p[(i+n-1)%n]
		if len(kept.Points) > 0 {
			a = kept.Points[len(kept.Points)-1]
		}
		c := p[(i+1)%n]
		if r.Edge[i] == r.Edge[(i+n-1)%n] {
			u, v := Sub(b, a), Sub(c, b)
			if Dot(u, v) > 0 && math.Abs(Cross(u, v)) <= 1e-9*math.Max(Norm(u), Norm(v)) {
				continue
			}
		}
		kept.Points = append(kept.Points, b)
		kept.Corners = append(kept.Corners, r.Path.Corners[i])
		edge = append(edge, r.Edge[i])
	}
	if len(kept.Points) >= 3 {
		r.Path, r.Edge = kept, edge
	}
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
		if math.Abs(math.Atan2(Cross(u, v), Dot(u, v))) < smoothTurn {
			r.Path.Corners[i] = false
		}
	}
}
