package prepare

import (
	"fmt"
	"math"
	"strconv"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// inPairs tells whether every second copy is turned over. A pair is two pieces, one mirrored; "cut
// 2" of a one-sided piece means a pair too (common practice), which is said, since two of a kind
// are then not to be had but by drawing them twice.
func (m *maker) inPairs(w whole) bool {
	switch {
	case m.piece.Pair:
		return true
	case m.piece.Quantity < 2 || m.piece.Quantity%2 != 0 || w.fold != nil:
		return false
	}
	if m.onBias() && sameMirrored(w.outline, orb.Point{0, 1}) {
		return false // a strip on the bias serves with the slant either way: common practice
	}
	alike := m.ownImage(w)
	if alike && len(w.notches)+len(w.drills)+len(w.marks)+len(w.cutouts) == 0 {
		return false // turned over it is the same piece
	}
	if !alike {
		m.note(pattern.RulePairAssumed,
			fmt.Sprintf("%d to cut of a one-sided piece is taken as %s, every second one mirrored", m.piece.Quantity, pairs(m.piece.Quantity/2)),
			"mark the piece as a pair in the draft; pieces that are all alike are drawn once each")
	}
	return true
}

func pairs(n int) string {
	if n == 1 {
		return "a pair"
	}
	return fmt.Sprintf("%d pairs", n)
}

// axis is the line about which copies are turned over: along the grain through the middle, so that
// the grain keeps its direction.
func (m *maker) axis(w geom.Path) (a, b orb.Point) {
	dir := orb.Point{0, 1}
	if g := m.piece.Grain; g != nil && geom.Dist(g.A, g.B) > geom.Tiny {
		dir = geom.Unit(geom.Sub(g.B, g.A))
	}
	c := w.Bound().Center()
	return c, geom.Add(c, dir)
}

// ownImage tells whether the outline is its own mirror image, along the grain or across it.
func (m *maker) ownImage(w whole) bool {
	a, b := m.axis(w.outline)
	return sameMirrored(w.outline, geom.Sub(b, a))
}

// sameMirrored tells whether an outline is its own image in the line through its middle in direction
// u, or in the line square to that.
func sameMirrored(w geom.Path, u orb.Point) bool {
	ix := geom.NewIndex(w)
	c := w.Bound().Center()
	return sameLine(ix, w.Apply(geom.MirrorLine(c, geom.Add(c, u)))) || sameLine(ix, w.Apply(geom.MirrorLine(c, geom.Add(c, geom.Left(u)))))
}

// onBias tells whether the grain runs at 45 degrees over the piece as drawn, to half a degree.
func (m *maker) onBias() bool {
	g := m.piece.Grain
	if g == nil {
		return false
	}
	d := geom.Sub(g.B, g.A)
	return geom.Norm(d) > geom.Tiny && math.Abs(math.Abs(d[0])-math.Abs(d[1])) < 0.0175*geom.Norm(d)*math.Sqrt2/2
}

// sameLine tells whether a line lies on the indexed one, within half a millimetre.
func sameLine(ix *geom.Index, p geom.Path) bool {
	r := p.Ruler()
	const looks = 200
	for k := range looks {
		at, _ := r.At(r.Length() * float64(k) / looks)
		if _, near := ix.Nearest(at); near.Dist > 0.5 {
			return false
		}
	}
	return true
}

// copyOf fills in one copy.
func (m *maker) copyOf(r *pattern.Ready, sh sheet) {
	place := geom.Identity
	if r.Mirrored {
		place = geom.MirrorLine(m.axis(sh.outline))
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
