package lay

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// strip is a range of the cloth's width on which units are laid. It begins at y0 of the cloth opened out; of two
// layers the lower one is its mirror image about the folded edge at y = fold, half a gap before y0.
type strip struct {
	y0, width float64
	layered   bool
	fold      float64
	units     []unit
}

// layer maps a strip's coordinates to the cloth, for a strip that begins at x.
func (st *strip) layer(x float64) geom.Affine { return geom.Translate(x, st.y0) }

// avoid are the zones to avoid in the strip's coordinates; on two layers the zones of both.
func (st *strip) avoid(m pattern.Material, x float64) [][]orb.Point {
	var out [][]orb.Point
	take := func(zone []orb.Point, by geom.Affine) {
		p := geom.Path{Points: zone, Closed: true}.Apply(by)
		if b := p.Bound(); b.Max[0] > 0 && b.Max[1] > 0 && b.Min[1] < st.width {
			out = append(out, p.Points)
		}
	}
	for _, zone := range m.Avoid {
		take(zone, geom.Translate(-x, -st.y0))
		if st.layered {
			take(zone, geom.Translate(-x, -st.y0).After(geom.Affine{A: 1, D: -1, F: 2 * st.fold}))
		}
	}
	return out
}

// sections are the strips of a lay: those of folded cloth, side by side, followed by the cloth opened out.
type sections struct {
	folded, open []*strip
	depth        float64
}

func (s sections) all() []*strip { return append(append([]*strip(nil), s.folded...), s.open...) }

// sections assigns the pieces to the strips of a way of folding. It fails where cloth cannot be folded so.
func (s *seeker) sections(fold pattern.Folding) (sections, error) {
	side := s.m.Side()
	open := &strip{y0: side, width: s.m.Width - 2*side}
	var out sections
	if fold == pattern.FoldNone {
		for i := range s.ready {
			open.units = append(open.units, s.whole(i))
		}
		out.open = []*strip{open}
		return out, nil
	}
	halves, pairs, lone := s.dealt()
	if len(halves)+len(pairs) == 0 {
		return out, fmt.Errorf("no piece lies on the fold or is cut from two layers, so there is nothing to fold the cloth for")
	}
	room := s.m.Gap / 2 // so that pieces in two layers are a gap apart where the fold is opened
	layered := func(fold, width float64) *strip {
		return &strip{y0: fold + room, width: width - room, layered: true, fold: fold}
	}
	switch fold {
	case pattern.FoldOnce:
		st := layered(s.m.Width/2, s.m.Width/2-side)
		st.units = append(halves, pairs...)
		out.folded = []*strip{st}
	case pattern.FoldTwo: // both selvedges meet in the middle
		wide := s.m.Width/4 - math.Max(side, s.m.Gap/2)
		a, b := layered(s.m.Width/4, wide), layered(3*s.m.Width/4, wide)
		share(append(halves, pairs...), a, b)
		out.folded = []*strip{a, b}
	case pattern.FoldPart:
		deep := 0.0
		for _, u := range halves {
			b := geom.Path{Points: u.outline}.Bound()
			deep = math.Max(deep, b.Max[1]-b.Min[1]+room)
		}
		if deep == 0 {
			return out, fmt.Errorf("no piece lies on the fold, so there is nothing to turn a part of the cloth over for")
		}
		out.depth = deep + side
		if 2*out.depth+s.m.Gap+side >= s.m.Width {
			return out, fmt.Errorf("a part fold %s deep leaves nothing of cloth %s wide; fold it once", Laid(out.depth, s.opt.Unit), Across(s.m.Width, s.opt.Unit))
		}
		from := 2*out.depth + math.Max(0, s.m.Gap-side)
		st, rest := layered(out.depth, deep), &strip{y0: from, width: s.m.Width - from - side}
		st.units = halves
		var single []unit
		for _, u := range pairs {
			for _, i := range u.ready {
				single = append(single, s.whole(i))
			}
		}
		for _, u := range append(single, lone...) {
			if u.across() <= rest.width {
				rest.units = append(rest.units, u)
			} else {
				open.units = append(open.units, u)
			}
		}
		out.folded, out.open = []*strip{st, rest}, []*strip{open}
		return out, nil
	}
	open.units = lone
	out.open = []*strip{open}
	return out, nil
}

// across is the least width that a unit needs.
func (u *unit) across() float64 {
	least := math.Inf(1)
	for _, t := range u.turns {
		b := geom.Path{Points: u.outline}.Apply(geom.Rotate(t * math.Pi / 180)).Bound()
		least = math.Min(least, b.Max[1]-b.Min[1])
	}
	return least
}

// share distributes units to two strips so that both take about as much cloth, the largest first.
func share(units []unit, a, b *strip) {
	var taken [2]float64
	left := append([]unit(nil), units...)
	for len(left) > 0 {
		k := 0
		for i := range left {
			if area(left[i]) > area(left[k]) {
				k = i
			}
		}
		to := 0
		if taken[1] < taken[0] {
			to = 1
		}
		st := []*strip{a, b}[to]
		st.units = append(st.units, left[k])
		taken[to] += area(left[k])
		left = append(left[:k], left[k+1:]...)
	}
}

func area(u unit) float64 { return geom.Path{Points: u.outline, Closed: true}.Area() }

// dealt divides the pieces into those on the fold, those of which two are cut from two layers, and the rest. The
// outline of a pair is in both layers, so that on cloth with a nap both point the same way.
func (s *seeker) dealt() (halves, pairs, lone []unit) {
	used := make([]bool, len(s.ready))
	for i := range s.ready {
		if used[i] {
			continue
		}
		used[i] = true
		if u, ok := onFold(s.ready, i, s.m, s.around[s.ready[i].Garment]); ok {
			halves = append(halves, u)
			continue
		}
		if k := s.partner(i, used); k > 0 {
			used[k] = true
			u := s.whole(i)
			u.ready = []int{i, k}
			pairs = append(pairs, u)
			continue
		}
		lone = append(lone, s.whole(i))
	}
	return halves, pairs, lone
}

// partner is a copy of a piece that is its mirror image, or the same one turned over; 0 where none is left.
func (s *seeker) partner(i int, used []bool) int {
	a := &s.ready[i]
	for k := i + 1; k < len(s.ready); k++ {
		b := &s.ready[k]
		if !used[k] && b.Name == a.Name && b.Index == a.Index && b.Size == a.Size && b.Copies == a.Copies && b.Draft == a.Draft &&
			(b.Mirrored != a.Mirrored || a.BothHands) && s.around[a.Garment] == s.around[b.Garment] {
			return k
		}
	}
	return 0
}
