package pattern

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// foldTol is how far, in mm, an end of an edge may lie from the fold line and still lie on it: far
// above the rounding of a draft, far below an allowance.
const foldTol = 0.1

// cornerTurn is the turn from which a vertex between two straight lines is taken for a corner of
// the trade where a draft does not mark them: 20 degrees, twice the step of a coarse flattened arc.
const cornerTurn = 20 * math.Pi / 180

// FoldLine is the line on which the piece is folded: as drawn, else the ends of the edge that is
// marked as the fold, else nil.
func (p *Piece) FoldLine() *Segment {
	if p.Fold != nil {
		return p.Fold
	}
	if !p.EdgesFit() {
		return nil
	}
	line := p.EdgeLine()
	for i, e := range p.Edges {
		if e.Fold {
			end := p.Edges[(i+1)%len(p.Edges)].First
			return &Segment{A: line.Points[e.First], B: line.Points[end]}
		}
	}
	return nil
}

// Folds are the lines on which the piece is folded: none, one, or two square to one another.
func (p *Piece) Folds() []Segment {
	var out []Segment
	if f := p.FoldLine(); f != nil {
		out = append(out, *f)
	}
	if p.Second != nil {
		out = append(out, *p.Second)
	}
	return out
}

// Holds tells whether both points lie on the line through the segment, within a tenth of a
// millimetre, and the stretch between them lies along the segment and not beyond its ends.
func (s Segment) Holds(a, b orb.Point) bool {
	u := geom.Unit(geom.Sub(s.B, s.A))
	if u == (orb.Point{}) {
		return false
	}
	ra, rb := geom.Sub(a, s.A), geom.Sub(b, s.A)
	if math.Abs(geom.Cross(u, ra)) > foldTol || math.Abs(geom.Cross(u, rb)) > foldTol {
		return false
	}
	if d := geom.Sub(b, a); math.Abs(geom.Cross(u, d)) > math.Abs(geom.Dot(u, d)) { // the first short bit of an edge that leaves it
		return false
	}
	mid := (geom.Dot(u, ra) + geom.Dot(u, rb)) / 2
	return mid > -foldTol && mid < geom.Dist(s.A, s.B)+foldTol
}

// EdgeLine is the line that Edges divide: the single closed sew line, else the cut line, else nil.
func (p *Piece) EdgeLine() *geom.Path {
	if len(p.Sew) == 1 && p.Sew[0].Closed {
		return &p.Sew[0]
	}
	return p.Cut
}

// EdgesOf divides a line of the piece at its corners: by Edges where the line is the one that they
// divide and there are any, else by the corners marked on the line, else by its sharp turns. There
// is always at least one edge, in order of First; an edge ends where the next begins, the last one
// of a closed line where the first begins, that of an open line at its end. Edges that lie on the
// fold are marked.
func (p *Piece) EdgesOf(line *geom.Path) []Edge {
	edges := p.drawnEdges(line)
	for i := range edges {
		last := len(line.Points) - 1
		if i+1 < len(edges) {
			last = edges[i+1].First
		} else if line.Closed {
			last = edges[0].First + len(line.Points)
		}
		for _, fold := range p.Folds() {
			edges[i].Fold = edges[i].Fold || p.alongFold(line, edges[i].First, last, fold)
		}
	}
	return edges
}

func (p *Piece) alongFold(line *geom.Path, first, last int, fold Segment) bool {
	n := len(line.Points)
	for i := first; i < last; i++ {
		if !fold.Holds(line.Points[i%n], line.Points[(i+1)%n]) {
			return false
		}
	}
	return last > first
}

func (p *Piece) drawnEdges(line *geom.Path) []Edge {
	if line == p.EdgeLine() && p.EdgesFit() {
		return append([]Edge(nil), p.Edges...)
	}
	return cornerEdges(line)
}

// EdgesFit tells whether there are edges and they begin at vertices of their line, in order. Edges
// that do not fit say nothing.
func (p *Piece) EdgesFit() bool {
	line := p.EdgeLine()
	if line == nil || len(p.Edges) == 0 {
		return false
	}
	for i, e := range p.Edges {
		if e.First < 0 || e.First >= len(line.Points) || i > 0 && e.First <= p.Edges[i-1].First {
			return false
		}
	}
	return true
}

func cornerEdges(line *geom.Path) []Edge {
	marked := *line
	if !tellsCorners(line) {
		marked = geom.MarkCorners(*line, cornerTurn)
	}
	var edges []Edge
	for i := range marked.Points {
		if !line.Closed && (i == 0 || i == len(marked.Points)-1) {
			if i == 0 {
				edges = append(edges, Edge{})
			}
			continue
		}
		if marked.Corner(i) {
			edges = append(edges, Edge{First: i})
		}
	}
	if len(edges) == 0 {
		edges = append(edges, Edge{})
	}
	return edges
}

// tellsCorners is false for a line on which every vertex is a corner: such a line is a bare list of
// points, which may as well be the chords of a curve.
func tellsCorners(line *geom.Path) bool {
	for i := range line.Corners {
		if !line.Corners[i] {
			return true
		}
	}
	return len(line.Corners) > 0 && len(line.Points) <= 4
}
