package check

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// side is one side of a seam: edges of a piece in a row, on the line that its edges divide.
type side struct {
	s     *subject
	line  *geom.Path
	ruler geom.Ruler
	// edges are numbers into s.p.Edges, in the order of the seam.
	edges  []int
	length float64
	// turned is true where the seam runs against the line.
	turned bool
}

// joined is a seam with both sides found, for one size.
type joined struct {
	seam pattern.Seam
	a, b side
}

// joints finds the sides of all seams, once for each size in which their pieces are drawn; unknown
// names the edges that no piece has.
func (d *draft) joints() (found []joined, unknown []pattern.EdgeRef) {
	for _, seam := range d.p.Seams {
		for _, size := range d.sizesOf(seam) {
			a, okA := d.side(seam.A, size)
			b, okB := d.side(seam.B, size)
			if okA && okB {
				found = append(found, joined{seam: seam, a: a, b: b})
			}
		}
		for _, ref := range append(append([]pattern.EdgeRef(nil), seam.A...), seam.B...) {
			if !d.has(ref) {
				unknown = append(unknown, ref)
			}
		}
	}
	return found, unknown
}

// sizesOf lists the sizes of the seam's first piece, in the draft's order.
func (d *draft) sizesOf(seam pattern.Seam) []string {
	var sizes []string
	seen := map[string]bool{}
	for _, s := range d.pieces {
		if len(seam.A) > 0 && s.p.Name == seam.A[0].Piece && !seen[s.p.Size] {
			seen[s.p.Size] = true
			sizes = append(sizes, s.p.Size)
		}
	}
	return sizes
}

func (d *draft) has(ref pattern.EdgeRef) bool {
	for _, s := range d.pieces {
		if s.p.Name == ref.Piece && edgeNamed(s.p, ref.Edge) >= 0 {
			return true
		}
	}
	return false
}

func edgeNamed(p *pattern.Piece, name string) int {
	for i, e := range p.Edges {
		if e.Name == name {
			return i
		}
	}
	return -1
}

// side finds the edges of one side, all on one piece or each on its own; only the lengths count for
// the latter.
func (d *draft) side(refs []pattern.EdgeRef, size string) (side, bool) {
	var out side
	for k, ref := range refs {
		s := d.pieceOf(ref.Piece, size)
		if s == nil {
			return out, false
		}
		i := edgeNamed(s.p, ref.Edge)
		line := s.p.EdgeLine()
		if i < 0 || !s.p.EdgesFit() || line.Segments() == 0 {
			return out, false
		}
		if k == 0 {
			out.s, out.line, out.ruler = s, line, line.Ruler()
		}
		from, to := edgeSpan(s.p, line, i)
		out.length += to - from
		if s == out.s {
			out.edges = append(out.edges, i)
		}
	}
	if n := len(out.edges); n > 1 {
		out.turned = (out.edges[1]-out.edges[0]+len(out.s.p.Edges))%len(out.s.p.Edges) != 1
	}
	return out, len(refs) > 0
}

func (d *draft) pieceOf(name, size string) *subject {
	var plain *subject
	for _, s := range d.pieces {
		if s.p.Name != name {
			continue
		}
		if s.p.Size == size {
			return s
		}
		if s.p.Size == "" {
			plain = s
		}
	}
	return plain
}

// edgeSpan is from where to where an edge runs along its line; to may exceed the line's length.
func edgeSpan(p *pattern.Piece, line *geom.Path, i int) (from, to float64) {
	starts := line.Starts()
	at := func(k int) float64 { return starts[min(max(k, 0), len(starts)-1)] }
	from = at(p.Edges[i].First)
	if i+1 < len(p.Edges) {
		return from, at(p.Edges[i+1].First)
	}
	if !line.Closed {
		return from, starts[len(starts)-1]
	}
	return from, line.Length() + at(p.Edges[0].First)
}

// first and last are the edges at the ends of the side as the line runs.
func (w side) first() int {
	if w.turned {
		return w.edges[len(w.edges)-1]
	}
	return w.edges[0]
}

func (w side) last() int {
	if w.turned {
		return w.edges[0]
	}
	return w.edges[len(w.edges)-1]
}

// ends are the places where the side begins and ends, as the line runs.
func (w side) ends() (from, to orb.Point) {
	a, _ := edgeSpan(w.s.p, w.line, w.first())
	_, b := edgeSpan(w.s.p, w.line, w.last())
	from, _ = w.ruler.At(a)
	to, _ = w.ruler.At(b)
	return from, to
}

// path is the side as a line, for pictures.
func (w side) path() []orb.Point {
	a, _ := edgeSpan(w.s.p, w.line, w.first())
	_, b := edgeSpan(w.s.p, w.line, w.last())
	if w.line.Closed {
		a, b = w.ruler.Within(a), w.ruler.Within(b)
		if math.Abs(a-b) < geom.Tiny {
			b = a + w.ruler.Length()
		}
	}
	return w.line.Sub(a, b).Points
}

// seamWords names both sides.
func seamWords(j joined) (a, b string) {
	name := func(refs []pattern.EdgeRef) string {
		text := ""
		for i, r := range refs {
			if i > 0 {
				text += " and "
			}
			text += r.Piece + " " + r.Edge
		}
		return text
	}
	return name(j.seam.A), name(j.seam.B)
}
