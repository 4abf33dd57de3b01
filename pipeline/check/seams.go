package check

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// run is edges of one piece in a row, on the line that its edges divide.
type run struct {
	s     *subject
	line  *geom.Path
	ruler geom.Ruler
	// edges are numbers into s.p.Edges, in the order of the seam.
	edges  []int
	length float64 // as worn
	times  float64
	// turned is true where the seam runs against the line.
	turned bool
	// way is how it is walked where that is known, as of a half to its fold and from it.
	way way
}

// side is one side of a seam, as it is walked from one run to the next.
type side []run

// length is as worn.
func (w side) length() float64 {
	sum := 0.0
	for _, r := range w {
		sum += r.times * r.length
	}
	return sum
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

// side finds the edges of one side; those in a row on one piece make one run.
func (d *draft) side(refs []pattern.EdgeRef, size string) (side, bool) {
	var out side
	for _, ref := range refs {
		s := d.pieceOf(ref.Piece, size)
		if s == nil {
			return out, false
		}
		i := edgeNamed(s.p, ref.Edge)
		line := s.p.EdgeLine()
		if i < 0 || !s.p.EdgesFit() || line.Segments() == 0 {
			return out, false
		}
		times := max(1, ref.Times)
		if k := len(out) - 1; k >= 0 && out[k].joins(s, i, times) {
			r := &out[k]
			r.turned = (r.edges[len(r.edges)-1]+1)%len(s.p.Edges) != i
			r.edges, r.length = append(r.edges, i), r.length+wornLength(s.p, line, i)
			continue
		}
		out = append(out, run{s: s, line: line, ruler: line.Ruler(), edges: []int{i}, length: wornLength(s.p, line, i), times: times})
	}
	return out, len(out) > 0
}

// joins tells whether the seam goes on from the run into another edge of its piece.
func (r run) joins(s *subject, edge int, times float64) bool {
	n, last := len(s.p.Edges), r.edges[len(r.edges)-1]
	return r.s == s && r.times == times && ((last+1)%n == edge || (edge+1)%n == last)
}

// wornLength is how long an edge is as it is sewn.
func wornLength(p *pattern.Piece, line *geom.Path, i int) float64 {
	if worn := p.Edges[i].Worn; len(worn.Points) > 0 {
		return worn.Length()
	}
	from, to := edgeSpan(p, line, i)
	return to - from
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

// first and last are the edges at the ends of the run as its line runs.
func (w run) first() int {
	if w.turned {
		return w.edges[len(w.edges)-1]
	}
	return w.edges[0]
}

func (w run) last() int {
	if w.turned {
		return w.edges[0]
	}
	return w.edges[len(w.edges)-1]
}

// ends are the places where the run begins and ends, as the line runs.
func (w run) ends() (from, to orb.Point) {
	a, _ := edgeSpan(w.s.p, w.line, w.first())
	_, b := edgeSpan(w.s.p, w.line, w.last())
	from, _ = w.ruler.At(a)
	to, _ = w.ruler.At(b)
	return from, to
}

// path is the run as a line, for pictures.
func (w run) path() []orb.Point {
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
func seamWords(j joined) (a, b string) { return refWords(j.seam.A), refWords(j.seam.B) }

func refWords(refs []pattern.EdgeRef) string {
	var words []string
	for _, r := range refs {
		w := r.Piece + " " + r.Edge
		switch {
		case r.Times == 2:
			w = "twice " + w
		case r.Times > 2:
			w = fmt.Sprintf("%g times %s", r.Times, w)
		}
		words = append(words, w)
	}
	return strings.Join(words, " and ")
}

// withPlace sets a finding's place in the draft, where it has lines.
func (j joined) withPlace(f pattern.Finding) pattern.Finding {
	f.Line, f.Column = j.seam.Line, j.seam.Column
	return f
}
