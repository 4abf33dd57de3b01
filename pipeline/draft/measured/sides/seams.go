package sides

import (
	"slices"

	"tracewheel/pipeline/pattern"
)

// index is the place of a piece among those drawn, -1 for none.
func (s Sides) index(name string) int {
	return slices.IndexFunc(s.drawn[0].Pieces, func(p pattern.Piece) bool { return p.Name == name })
}

// ref is an edge of one side's piece.
func (s Sides) ref(r pattern.EdgeRef, side int) pattern.EdgeRef {
	switch i := s.index(r.Piece); {
	case i < 0:
	case s.Ways[i] == Apart:
		r.Piece = s.name(i, side)
	case s.Ways[i] == Opened:
		r.Edge = Names[side] + " " + r.Edge
	}
	return r
}

// SeamKind is how a seam of one side is sewn where the sides differ.
type SeamKind int

const (
	Once    SeamKind = iota // it has no piece that differs
	Each                    // on either side by itself
	Across                  // with both sides in it
	Middle                  // one side to the other
	OfRight                 // on the right side alone, by a piece that is of it
	OfLeft                  // on the left side alone
)

// KindOf is how a seam is sewn that is told of one side.
func (s Sides) KindOf(seam pattern.Seam) SeamKind {
	kind := Once
	var own [2]bool
	for _, r := range slices.Concat(seam.A, seam.B) {
		if i := s.index(r.Piece); i >= 0 && s.Ways[i] == Own {
			own[s.OwnSide[i]] = true
		}
	}
	if own[0] != own[1] {
		return OfRight + SeamKind(place(own[1]))
	}
	for _, r := range slices.Concat(seam.A, seam.B) {
		i := s.index(r.Piece)
		if i < 0 || s.Ways[i] != Apart && s.Ways[i] != Opened {
			continue
		}
		if r.Times >= 2 {
			return Across
		}
		kind = Each
		if len(seam.A) == 1 && len(seam.B) == 1 && seam.A[0].Piece == seam.B[0].Piece && seam.A[0].Edge == seam.B[0].Edge {
			return Middle
		}
	}
	return kind
}

// seams are those that a seam becomes, told of the right side and of the left.
func (s Sides) seams(r, l pattern.Seam) []pattern.Seam {
	refs := func(in []pattern.EdgeRef, side int) (out []pattern.EdgeRef) {
		for _, x := range in {
			out = append(out, s.ref(x, side))
		}
		return out
	}
	both := func(in []pattern.EdgeRef) (out []pattern.EdgeRef) {
		for _, x := range in {
			a, b := s.ref(x, 0), s.ref(x, 1)
			if a == b {
				out = append(out, x)
				continue
			}
			a.Times, b.Times = x.Times/2, x.Times/2
			out = append(out, a, b)
		}
		return out
	}
	one := r
	switch s.KindOf(r) {
	case Each:
		r.A, r.B, l.A, l.B = refs(r.A, 0), refs(r.B, 0), refs(l.A, 1), refs(l.B, 1)
		return []pattern.Seam{r, l}
	case Across:
		one.A, one.B, one.Ease, one.Underlap = both(r.A), both(r.B), (r.Ease+l.Ease)/2, (r.Underlap+l.Underlap)/2
	case Middle:
		one.A, one.B = refs(r.A, 0), refs(r.B, 1)
	case OfRight:
		one.A, one.B = refs(r.A, 0), refs(r.B, 0)
	case OfLeft:
		one = l
		one.A, one.B = refs(l.A, 1), refs(l.B, 1)
	}
	return []pattern.Seam{one}
}
