package prepare

import (
	"fmt"
	"math"
	"strconv"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// inPairs tells whether every second copy is turned over; that it is taken to be so is said.
func (m *maker) inPairs(w whole) bool {
	hands := m.piece.Hands(w.outline)
	if hands == pattern.PairsAssumed {
		m.note(pattern.RulePairAssumed,
			fmt.Sprintf("%d to cut of a one-sided piece is taken as %s, every second one mirrored", m.piece.Quantity, pairs(m.piece.Quantity/2)),
			fmt.Sprintf("nothing, if that is meant; %d of one hand are \"%d, alike\" in the draft", m.piece.Quantity, m.piece.Quantity))
	}
	return hands != pattern.OneHand
}

func pairs(n int) string {
	if n == 1 {
		return "a pair"
	}
	return fmt.Sprintf("%d pairs", n)
}

// copyOf fills in one copy.
func (m *maker) copyOf(r *pattern.Ready, sh sheet) {
	place := geom.Identity
	if r.Mirrored {
		place = geom.MirrorLine(m.piece.TurnedOver(sh.outline))
	}
	r.Place = place
	f := flat{outline: sh.outline.Apply(place), edgeOf: append([]string(nil), sh.edgeOf...)}
	f = turnCCW(f)
	r.Outline, r.EdgeOf = f.outline, f.edgeOf
	for _, l := range sh.lines {
		l.Path = l.Path.Apply(place)
		r.Lines = append(r.Lines, l)
	}
	if g := sh.grain; g != nil {
		r.Grain = &pattern.Segment{A: place.Apply(g.A), B: place.Apply(g.B)}
	}
	if m.opt.pen() {
		m.letter(r, sh.inner.Apply(place), sh, place)
		return
	}
	r.Card = m.card(r, sh)
}

// widthWords says the allowance of a piece: built as stated, or measured from the sew line.
func (m *maker) widthWords(w whole) string {
	lo, hi := w.least, w.most
	if !w.built {
		if m.piece.Allowance == nil || len(w.sew) > 0 {
			lo, hi = measured(w)
		} else {
			lo, hi = *m.piece.Allowance, *m.piece.Allowance
		}
	}
	switch {
	case math.IsInf(lo, 0) || hi < lo:
		return ""
	case hi < 0.05:
		return "no allowance"
	case hi-lo < 0.5:
		return "allowance " + m.length((lo+hi)/2)
	}
	return "allowance " + m.number(lo) + " to " + m.length(hi)
}

// measured is the least and greatest width at the middles of the sew line's stretches; the ends
// of an open sew line at the fold would read nothing.
func measured(w whole) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	ix := geom.NewIndex(w.outline)
	for _, s := range w.sew {
		for i := range s.Segments() {
			a, b := s.Segment(i)
			_, near := ix.Nearest(geom.Lerp(a, b, 0.5))
			lo, hi = math.Min(lo, near.Dist), math.Max(hi, near.Dist)
		}
	}
	return lo, hi
}

// place says where in the draft.
func (m *maker) place(at orb.Point) string { return m.p.Places(m.opt.Inches).Say(at) }

func (m *maker) length(mm float64) string {
	if m.opt.Inches {
		return m.number(mm) + " in"
	}
	return m.number(mm) + " mm"
}

// number writes a width to a tenth of a millimetre, or a hundredth of an inch: finer is not sewn.
func (m *maker) number(mm float64) string {
	v, steps := mm, 10.0
	if m.opt.Inches {
		v, steps = mm/25.4, 100
	}
	return strconv.FormatFloat(math.Round(v*steps)/steps, 'f', -1, 64)
}
