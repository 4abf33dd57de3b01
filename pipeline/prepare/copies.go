package prepare

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// handsOf tells which copies are mirrored; an assumption about it is reported.
func (m *maker) handsOf(w whole) pattern.Hands {
	hands := m.piece.Hands(w.outline)
	if hands == pattern.PairsAssumed {
		m.note(pattern.RulePairAssumed,
			fmt.Sprintf("%d to cut of a one-sided piece is taken as %s, every second one mirrored", m.piece.Quantity, pairs(m.piece.Quantity/2)),
			fmt.Sprintf("no action needed if that is meant; %d of one hand are \"%d, alike\" in the draft", m.piece.Quantity, m.piece.Quantity))
	}
	return hands
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
	for _, l := range sh.uncut {
		l.Path = l.Path.Apply(place)
		r.Uncut = append(r.Uncut, l)
	}
	if f := sh.onFold; f != nil {
		r.OnFold = &pattern.Segment{A: place.Apply(f.A), B: place.Apply(f.B)}
	}
	if f := sh.fold; f != nil {
		r.Fold = &pattern.Segment{A: place.Apply(f.A), B: place.Apply(f.B)}
	}
	if f := sh.second; f != nil {
		r.Second = &pattern.Segment{A: place.Apply(f.A), B: place.Apply(f.B)}
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

// edgeWidth is the allowance of a named edge, and the edge's length, mm.
type edgeWidth struct {
	name string
	pattern.Width
	long float64
}

// widthWords describes the allowance of a piece: as stated, edge by edge where they differ, or measured from the sew
// line.
func (m *maker) widthWords(w whole) string {
	if m.opt.Net {
		return "no seam allowance"
	}
	if w.built && len(w.widths) > 0 && w.most-w.least >= 0.5 {
		if words := m.byEdge(w.widths); words != "" {
			return "allowance " + words
		}
	}
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

// mostWidths bounds the different allowances that a piece's letters list by edge.
const mostWidths = 5

// byEdge lists allowances with their edges, the longest edge's first and without its name: "1.5 cm, hem 4 cm, neck
// none". It is "" where there are too many, or edges without a name.
func (m *maker) byEdge(widths []edgeWidth) string {
	said := func(w edgeWidth) string {
		switch {
		case w.From < 0.05 && w.To < 0.05:
			return "none"
		case math.Abs(w.From-w.To) < 0.05:
			return m.length(w.From)
		}
		return m.number(w.From) + " to " + m.length(w.To)
	}
	var order []string
	edges, long := map[string][]string{}, map[string]float64{}
	for _, w := range widths {
		k := said(w)
		if edges[k] == nil {
			order = append(order, k)
		}
		edges[k] = append(edges[k], w.name)
		if k != "none" {
			long[k] += w.long
		}
	}
	if len(order) > mostWidths {
		return ""
	}
	sort.SliceStable(order, func(a, b int) bool { return long[order[a]] > long[order[b]] })
	parts := []string{order[0]}
	for _, k := range order[1:] {
		if slices.Contains(edges[k], "") {
			return ""
		}
		parts = append(parts, strings.Join(slices.Compact(edges[k]), " and ")+" "+k)
	}
	return strings.Join(parts, ", ")
}

// measured is the least and greatest width at the middles of the sew line's segments, because the ends of an open sew
// line at the fold would measure nothing.
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
