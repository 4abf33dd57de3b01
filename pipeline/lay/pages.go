package lay

import (
	"context"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// joinWide is the least width, mm, of the strip at a join of two sheets that no piece on one sheet enters.
const joinWide = 1.0

// onPages lays pieces on consecutive sheets or frames: a piece that fits on one sheet is on one. Longer pieces come
// first, across the joins; then, each from the beginning of a sheet, those that fill a sheet from end to end; then the
// others. Where all fit on one sheet, it is an ordinary lay. The search time is shared by the number of pieces.
func onPages(ctx context.Context, ready []pattern.Ready, m pattern.Material, opt Options) (pattern.Lay, []pattern.Finding) {
	pages := m.Pages
	first := opt
	first.Steps, first.Time = 0, 0
	plain, found := OnCloth(ctx, ready, m, first)
	if len(found) > 0 || plain.LengthUsed <= pages.Room {
		return OnCloth(ctx, ready, m, opt)
	}
	var long, full, held []int
	s := seeker{ready: ready, m: m}
	for i := range ready {
		switch {
		case s.holds(i, between(pages, m.Margin)):
			held = append(held, i)
		case s.holds(i, pages.Room-2*m.Margin):
			full = append(full, i)
		default:
			long = append(long, i)
		}
	}
	out := pattern.Lay{Material: m, Fold: pattern.FoldNone}
	put := func(these []int, from float64, m pattern.Material) []pattern.Finding {
		some := make([]pattern.Ready, len(these))
		for k, i := range these {
			some[k] = ready[i]
		}
		l, found := OnCloth(ctx, some, m, opt.part(float64(len(these))/float64(len(ready))))
		for _, p := range l.Placements {
			p.Ready = these[p.Ready]
			p.Map = geom.Translate(from, 0).After(p.Map)
			p.At[0] += from
			out.Placements = append(out.Placements, p)
		}
		out.LengthUsed = from + l.LengthUsed
		return found
	}
	next := func() float64 { // where the first sheet begins that is clear of what is laid
		if len(out.Placements) == 0 {
			return 0
		}
		return math.Ceil((out.LengthUsed-2*m.Margin+m.Gap-rounding)/pages.Step) * pages.Step
	}
	if len(long) > 0 {
		if found := put(long, 0, m); len(found) > 0 {
			return out, found
		}
	}
	for _, i := range full {
		if found := put([]int{i}, next(), m); len(found) > 0 {
			return out, found
		}
	}
	if len(held) > 0 {
		from, behind := next(), m
		behind.Avoid = joins(pages, len(held)+int(plain.LengthUsed/pages.Step)+2, m)
		if from == 0 {
			behind.Avoid = behind.Avoid[1:]
		}
		for _, zone := range m.Avoid {
			behind.Avoid = append(behind.Avoid, geom.Path{Points: zone}.Apply(geom.Translate(-from, 0)).Points)
		}
		if found := put(held, from, behind); len(found) > 0 {
			return out, found
		}
	}
	out.Efficiency = Area(ready) / (m.Width * out.LengthUsed)
	return out, nil
}

// holds reports whether a piece fits within a length in one of its turns.
func (s *seeker) holds(i int, along float64) bool {
	u := s.whole(i)
	for _, t := range u.turns {
		b := geom.Path{Points: u.outline}.Apply(geom.Rotate(t * math.Pi / 180)).Bound()
		if b.Max[0]-b.Min[0] <= along && b.Max[1]-b.Min[1] <= s.m.Width-2*s.m.Side()+rounding {
			return true
		}
	}
	return false
}

// joins are zones to avoid where each of n sheets begins: the margins of both sheets and their overlap, so that no
// line of the pieces behind is drawn on the sheet before.
func joins(p pattern.Pages, n int, m pattern.Material) (out [][]orb.Point) {
	for k := range n {
		begins := float64(k) * p.Step
		ends := begins - p.Step + p.Room // of the sheet before
		b := orb.Bound{Min: orb.Point{ends - math.Max(m.Margin, joinWide), -1}, Max: orb.Point{math.Max(begins+m.Margin, ends), m.Width + 1}}
		out = append(out, b.ToRing()[:4])
	}
	return out
}

// between is the greatest length of a piece between two joins.
func between(p pattern.Pages, margin float64) float64 {
	return p.Room - math.Max(margin, joinWide) - math.Max(margin, p.Room-p.Step) - rounding
}
