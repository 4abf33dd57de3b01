package sewn

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/pattern"
)

// readSlit reads "front slit" as an edge of a seam: one side of a slit that is marked, as a gusset is set into it. False where
// what stands there is no slit, or an edge has that name.
func (e *Sewing) readSlit(p *tree.Parser) (*pieces.Piece, *pieces.Slit, bool) {
	var names []string
	for _, pc := range e.Pieces {
		for _, s := range pc.Slits {
			names = append(names, pc.Name+" "+s.Name)
		}
	}
	if len(names) == 0 {
		return nil, nil, false
	}
	p.Space()
	at := p.At
	n, ok := p.Name(append(slices.Clone(e.EdgeNames()), names...))
	if !ok || slices.Contains(e.EdgeNames(), n) {
		p.At = at
		return nil, nil, false
	}
	for _, pc := range e.Pieces {
		same := slices.DeleteFunc(slices.Clone(pc.Slits), func(s *pieces.Slit) bool { return pc.Name+" "+s.Name != n })
		if len(same) > 1 {
			p.Fail(at, fmt.Sprintf("%s has %d slits of that name", pc.Name, len(same)), "give each a name where it is marked: slit P to Q, called left slit")
		}
		if len(same) == 1 {
			return pc, same[0], true
		}
	}
	return nil, nil, false
}

// drawnSlit stands for a slit among the drawings' edges of a seam: no fitting moves it.
func drawnSlit(pc *pieces.Piece, s *pieces.Slit) drafting.SeamEdge {
	return drafting.SeamEdge{Edge: s.Name, Piece: pc.Name}
}

// slitSeam compares the lengths of a seam into a slit; by is how much the second side is longer as it is said. The slit has no
// corners and no notches, and its allowance runs out at its end.
func (e *Sewing) slitSeam(s *sentence.Sentence, a, b []edgeTimes, by, within float64) {
	la, lb := sideLength(a), sideLength(b)
	let, off := within*e.UnitMM, (lb-la-by)*e.UnitMM
	let = cmp.Or(let, e.SeamTolerance)
	fig := pairFigure{A: sideWords(a), B: sideWords(b), LengthA: la, LengthB: lb, Ease: by, Seam: -1}
	switch {
	case math.Abs(off) > let:
		fig.Off = off / e.UnitMM
		f := e.Note(s, pattern.RuleSeamLengths, pattern.Error,
			fmt.Sprintf("%s (%s) is sewn to %s (%s): %s off, and %s is let pass", fig.A, e.WithUnit(la), fig.B, e.WithUnit(lb), e.WithUnit(math.Abs(fig.Off)), e.WithUnit(let/e.UnitMM)),
			"make the slit as long as what is set into it, each of its two sides; or say within and how much is eased in")
		r := b[0]
		f.Piece, f.Index, f.Edge = r.Piece.Name, e.IndexOf(r.Piece), r.name()
	case math.Abs(off) > tapeShows:
		fig.Within = let / e.UnitMM
	}
	e.Pairs = append(e.Pairs, fig)
	if e.slitsSewn == nil {
		e.slitsSewn = map[*pieces.Slit]float64{}
		e.later = append(e.later, e.halfSewnSlits)
	}
	for _, r := range slices.Concat(a, b) {
		if r.Slit != nil {
			e.slitsSewn[r.Slit] += r.Times
		}
	}
}

// halfSewnSlits tells of a slit that stands in a seam, and not with both of its sides.
func (e *Sewing) halfSewnSlits() {
	for _, pc := range e.Pieces {
		for _, s := range pc.Slits {
			n, sewn := e.slitsSewn[s]
			if !sewn || n == 2 {
				continue
			}
			text := fmt.Sprintf("one side of %s %s is sewn, and the other to nothing", pc.Name, s.Name)
			if n > 2 {
				text = fmt.Sprintf("%s %s is sewn %s times, and has two sides", pc.Name, s.Name, sentence.FormatNumber(n))
			}
			f := e.Note(s.Sentence, pattern.RuleReadAssumed, pattern.Warning, text, fmt.Sprintf("let each of its sides stand in a seam: twice %s %s where both are told at once", pc.Name, s.Name))
			f.Piece, f.Index = pc.Name, e.IndexOf(pc)
		}
	}
}
