package lay

import (
	"context"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// joinWide is how wide a strip at a join of two sheets nothing reaches into that a sheet holds whole, mm. It ends where the
// sheet before ends, so that no line of what lies behind it is drawn on that one.
const joinWide = 1.0

// onPages lays pieces on sheets or frames that follow one another: what a sheet holds whole lies on one. Pieces that are
// longer come first, over the joins, and the others begin on the sheet behind them. All on one sheet is a lay as any
// other.
func onPages(ctx context.Context, ready []pattern.Ready, m pattern.Material, opt Options) (pattern.Lay, []pattern.Finding) {
	pages := m.Pages
	plain, found := OnCloth(ctx, ready, m, opt)
	if len(found) > 0 || plain.LengthUsed <= pages.Room {
		return plain, found
	}
	var long, held []int
	s := seeker{ready: ready, m: m}
	for i := range ready {
		if s.holds(i, pages.Step-joinWide-2*math.Max(m.Margin, m.Gap)) {
			held = append(held, i)
		} else {
			long = append(long, i)
		}
	}
	if len(held) == 0 {
		return plain, nil
	}
	out := pattern.Lay{Material: m, Fold: pattern.FoldNone}
	put := func(these []int, from float64, m pattern.Material) []pattern.Finding {
		some := make([]pattern.Ready, len(these))
		for k, i := range these {
			some[k] = ready[i]
		}
		l, found := OnCloth(ctx, some, m, opt)
		for _, p := range l.Placements {
			p.Ready = these[p.Ready]
			p.Map = geom.Translate(from, 0).After(p.Map)
			p.At[0] += from
			out.Placements = append(out.Placements, p)
		}
		out.LengthUsed = from + l.LengthUsed
		return found
	}
	from := 0.0
	if len(long) > 0 {
		if found := put(long, 0, m); len(found) > 0 {
			return out, found
		}
		from = math.Ceil((out.LengthUsed+m.Gap-rounding)/pages.Step) * pages.Step
	}
	behind := m
	behind.Avoid = joins(pages, len(held)+int(plain.LengthUsed/pages.Step)+2, m.Width)
	if from == 0 {
		behind.Avoid = behind.Avoid[1:]
	}
	for _, zone := range m.Avoid {
		behind.Avoid = append(behind.Avoid, geom.Path{Points: zone}.Apply(geom.Translate(-from, 0)).Points)
	}
	if found := put(held, from, behind); len(found) > 0 {
		return out, found
	}
	out.Efficiency = Area(ready) / (m.Width * out.LengthUsed)
	return out, nil
}

// holds tells whether a piece lies within a length in one of its turns.
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

// joins are places to avoid where each of n sheets begins.
func joins(p pattern.Pages, n int, width float64) (out [][]orb.Point) {
	for k := range n {
		lo := float64(k-1)*p.Step + p.Room - joinWide
		b := orb.Bound{Min: orb.Point{lo, -1}, Max: orb.Point{lo + joinWide, width + 1}}
		out = append(out, b.ToRing()[:4])
	}
	return out
}
