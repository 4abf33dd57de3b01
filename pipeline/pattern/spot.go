package pattern

import (
	"cmp"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// How near, in mm, a place lies to a lettered point or to a line to be on it: far above the rounding of a
// draft, far below what a person measures.
const (
	onPoint = 0.3
	onEdge  = 0.5
	// besideEdge is as far outside an edge as a cut line may run of which a place is told by the edge.
	besideEdge = 60.0
)

// spot tells a place by the piece's lettered points and its edges, as the person who drew it names them:
// "U", "8 cm from U along the side", "3 cm out and 1 cm down from U"; where corners may stand for points and the piece
// has none, as a strip, "4 cm from the corner with end along the long edge". Unit is "mm", "cm" or "in"; the place is in
// mm, y up. It is "" for a piece without points.
func (p *Piece) spot(at orb.Point, unit string, corners bool) string {
	points := p.Points
	if corners && len(points) == 0 {
		points = p.corners()
	}
	if len(points) == 0 {
		return ""
	}
	if near := nearest(at, points); geom.Dist(near.At, at) <= onPoint {
		return near.Text
	}
	if words := p.alongEdge(at, points, unit); words != "" {
		return words
	}
	return Beside(at, points, unit)
}

// corners are the places at which one edge ends and the next begins, told by both.
func (p *Piece) corners() (out []Label) {
	line := p.EdgeLine()
	if line == nil || !p.EdgesFit() || len(p.Edges) < 2 {
		return nil
	}
	for i, e := range p.Edges {
		before := p.Edges[(i+len(p.Edges)-1)%len(p.Edges)]
		out = append(out, Label{At: line.Points[e.First], Text: "the corner of " + edgeWord(before) + " and " + edgeWord(e)})
	}
	return out
}

func edgeWord(e Edge) string { return cmp.Or(e.Name, e.Kind, "edge") }

func nearest(at orb.Point, points []Label) Label {
	out := points[0]
	for _, l := range points[1:] {
		if geom.Dist(l.At, at) < geom.Dist(out.At, at) {
			out = l
		}
	}
	return out
}

// Beside tells a place by the nearest of some lettered points: "U", or "3 cm out and 1 cm down from U". Places are mm, y up.
func Beside(at orb.Point, points []Label, unit string) string {
	near := nearest(at, points)
	off := geom.Sub(at, near.At)
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
	if words == "" {
		return near.Text
	}
	return words + " from " + near.Text
}

// AlongEdge tells a place on an edge, so many mm from a lettered point of it: "8 cm from U along the side".
func AlongEdge(mm float64, point, edge, unit string) string {
	return Length(mm, unit) + " from " + point + " along the " + edge
}

// alongEdge tells a place on an edge by the nearest lettered point of that edge, "" where there is none.
func (p *Piece) alongEdge(at orb.Point, points []Label, unit string) string {
	line := p.EdgeLine()
	if line == nil || !p.EdgesFit() {
		return ""
	}
	here := line.Nearest(at)
	if here.Dist > onEdge && (here.Dist > besideEdge || line.Contains(at)) {
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
	for _, l := range points {
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
	if name == "" || here.Dist > onEdge && math.Min(s, upTo-s) < onPoint {
		return ""
	}
	edge := edgeWord(p.Edges[k])
	if rest, ok := strings.CutPrefix(name, "the corner of "); ok { // the edge itself is named behind it
		if other, ok := strings.CutSuffix(rest, " and "+edge); ok {
			name = "the corner with " + other
		} else if other, ok := strings.CutPrefix(rest, edge+" and "); ok {
			name = "the corner with " + other
		}
	}
	words := AlongEdge(best, name, edge, unit)
	if here.Dist > onEdge {
		words += ", " + Length(here.Dist, unit) + " outside it"
	}
	return words
}
