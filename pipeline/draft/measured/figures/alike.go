package figures

import (
	"math"

	"tracewheel/pipeline/draft/measured/sewn"
	"tracewheel/pipeline/pattern"
)

// side is one side of a seam: its edges, each so many times.
type side struct {
	edges []*EdgeFigures
	times []float64
	whole bool // each of its edges is in the list, and counts once or for both halves
}

// sideOf finds the edges of a side in the list.
func (f *Figures) sideOf(refs []pattern.EdgeRef) side {
	out := side{whole: true}
	for _, r := range refs {
		ed := f.edge(r)
		if ed == nil || r.Times > 2 { // what is joined many times is told more exactly, in brackets
			return side{}
		}
		out.edges, out.times = append(out.edges, ed), append(out.times, max(r.Times, 1))
	}
	return out
}

func (f *Figures) edge(r pattern.EdgeRef) *EdgeFigures {
	for i := range f.Pieces {
		for k := range f.Pieces[i].Edges {
			if ed := &f.Pieces[i].Edges[k]; f.Pieces[i].Name == r.Piece && ed.Name == r.Edge {
				return ed
			}
		}
	}
	return nil
}

// sums are how long the side is, and how long by what is told of its edges.
func (s side) sums() (long, told float64) {
	for i, ed := range s.edges {
		long += s.times[i] * ed.Worn
		told += s.times[i] * ed.told
	}
	return long, told
}

// roundAlike gives edges that are sewn together the same digits. Two edges are rounded from the middle of their lengths, and
// what one is meant to be longer is rounded by itself. Where a side has several, what is told of them adds up to the other
// side: edges that no seam has settled are told a part longer or shorter, the one first of which that is most nearly true.
func (f *Figures) roundAlike(e *sewn.Sewing, u tapeUnit) {
	settled := map[*EdgeFigures]bool{}
	for _, single := range []bool{true, false} {
		for _, s := range e.Seams {
			a, b := f.sideOf(s.A), f.sideOf(s.B)
			long, told := a.sums()
			longB, toldB := b.sums()
			ease := s.Ease / u.mm
			if !a.whole || !b.whole || s.Gathered || math.Abs(longB-long-ease) > 1/u.parts || single != (len(a.edges) == 1 && len(b.edges) == 1 && a.times[0] == 1 && b.times[0] == 1) {
				continue
			}
			if single && !settled[a.edges[0]] && !settled[b.edges[0]] {
				a.edges[0].told = u.rounded((long + longB - ease) / 2)
				b.edges[0].told = a.edges[0].told + u.rounded(ease)
			} else {
				for parts := math.Round((toldB - told - u.rounded(ease)) * u.parts); parts != 0; parts -= math.Copysign(1, parts) {
					by := math.Copysign(1/u.parts, parts)
					one, more := nearest(a, settled, by), nearest(b, settled, -by)
					if one == nil && more == nil {
						break
					}
					switch {
					case more == nil || one != nil && math.Abs(one.told+by-one.Worn) <= math.Abs(more.told-by-more.Worn):
						one.told += by
					default:
						more.told -= by
					}
				}
			}
			for _, ed := range append(a.edges, b.edges...) {
				settled[ed] = true
			}
		}
	}
	for i := range f.Pieces {
		for k := range f.Pieces[i].Edges {
			ed := &f.Pieces[i].Edges[k]
			if ed.Sewn = u.say(ed.told); math.Abs(ed.Cut-ed.Worn) < tiny {
				ed.Chalk = ed.Sewn
			}
		}
	}
	for i, p := range e.Pairs {
		s := &f.Seams[i]
		if s.SewnA, s.SewnB = u.rounded(s.A), u.rounded(s.B); p.Seam >= 0 {
			s.SewnA, s.SewnB = f.total(e.Seams[p.Seam].A, s.A, u), f.total(e.Seams[p.Seam].B, s.B, u)
		}
	}
}

// nearest is the edge of a side, taken once, of which it is most nearly true that it is longer by so much; nil where it is true
// of none to a part.
func nearest(s side, settled map[*EdgeFigures]bool, by float64) *EdgeFigures {
	var out *EdgeFigures
	for i, ed := range s.edges {
		if off := math.Abs(ed.told + by - ed.Worn); !settled[ed] && s.times[i] == 1 && off <= math.Abs(by)+tiny && (out == nil || off < math.Abs(out.told+by-out.Worn)) {
			out = ed
		}
	}
	return out
}

// total is how long a side is by what is told of its edges, or by itself where it has one that is not in the list.
func (f *Figures) total(refs []pattern.EdgeRef, long float64, u tapeUnit) float64 {
	if s := f.sideOf(refs); s.whole {
		_, long = s.sums()
	}
	return u.rounded(long)
}
