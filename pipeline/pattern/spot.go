package pattern

import (
	"cmp"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// How near, in mm, a place lies to a lettered point or to a line to be on it: far above the rounding of a
// draft, far below what a person measures.
const (
	onPoint = 0.3
	onEdge  = 0.5
)

// spot tells a place by the piece's lettered points and its edges, as the person who drew it names them:
// "U", "8 cm from U along the side", "3 cm out and 1 cm down from U". Unit is "mm", "cm" or "in"; the place
// is in mm, y up. It is "" for a piece without lettered points.
func (p *Piece) spot(at orb.Point, unit string) string {
	if len(p.Points) == 0 {
		return ""
	}
	nearest := p.Points[0]
	for _, l := range p.Points[1:] {
		if geom.Dist(l.At, at) < geom.Dist(nearest.At, at) {
			nearest = l
		}
	}
	if geom.Dist(nearest.At, at) <= onPoint {
		return nearest.Text
	}
	if words := p.alongEdge(at, unit); words != "" {
		return words
	}
	off := geom.Sub(at, nearest.At)
	var words string
	for i, way := range [2][2]string{{"back", "out"}, {"down", "up"}} {
		if math.Abs(off[i]) < onPoint {
			continue
		}
		if words != "" {
			words += " and "
		}
		words += Length(math.Abs(off[i]), unit) + " "
		if off[i] < 0 {
			words += way[0]
		} else {
			words += way[1]
		}
	}
	return words + " from " + nearest.Text
}

// alongEdge tells a place on an edge by the nearest lettered point of that edge, "" where there is none.
func (p *Piece) alongEdge(at orb.Point, unit string) string {
	line := p.EdgeLine()
	if line == nil || !p.EdgesFit() {
		return ""
	}
	here := line.Nearest(at)
	if here.Dist > onEdge {
		return ""
	}
	starts, ruler := line.Starts(), line.Ruler()
	length := ruler.Length()
	k := len(p.Edges) - 1 // the last one runs over the line's start
	for i, e := range p.Edges {
		if starts[e.First] <= here.S {
			k = i
		}
	}
	from := starts[p.Edges[k].First]
	upTo := ruler.Within(starts[p.Edges[(k+1)%len(p.Edges)].First] - from)
	if len(p.Edges) == 1 {
		upTo = length
	}
	s := ruler.Within(here.S - from)
	best, name := math.Inf(1), ""
	for _, l := range p.Points {
		n := line.Nearest(l.At)
		if n.Dist > onPoint {
			continue
		}
		t := ruler.Within(n.S - from)
		if length-t < onPoint { // the edge's own start, seen from the other side
			t = 0
		}
		if t <= upTo+onPoint && math.Abs(t-s) < best {
			best, name = math.Abs(t-s), l.Text
		}
	}
	if name == "" {
		return ""
	}
	return Length(best, unit) + " from " + name + " along the " + cmp.Or(p.Edges[k].Name, p.Edges[k].Kind, "edge")
}
