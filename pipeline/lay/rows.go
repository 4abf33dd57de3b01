package lay

import (
	"math"
	"sort"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// Rows lays the pieces on paper by their boxes: a row runs across the width and is as deep, along the length, as its
// deepest piece. Deep pieces come first, and each piece goes into the first row with room, turned by a quarter where
// that helps. It is fast, for callers that try many widths, and takes more paper than OnCloth. Findings are pieces
// that fit in no turn, or that are together longer than the paper.
func Rows(ready []pattern.Ready, m pattern.Material) (pattern.Lay, []pattern.Finding) {
	l := pattern.Lay{Material: m, Fold: pattern.FoldNone}
	s := seeker{ready: ready, m: m}
	s.m.Cloth = false
	if found := s.beyond(); len(found) > 0 || len(ready) == 0 {
		return l, found
	}
	along := math.Inf(1)
	if m.Length > 0 {
		along = m.Length - 2*m.Margin
	}
	var items []item
	for i := range ready {
		turns := []turn{newTurn(&ready[i], 0), newTurn(&ready[i], math.Pi/2)}
		items = append(items, item{index: i, turns: fitting(turns, along, m.Width-2*m.Margin)})
	}
	x := m.Margin
	for _, r := range best(items, m.Width-2*m.Margin, m.Gap) {
		for _, p := range r.places {
			l.Placements = append(l.Placements, place(p, x, m))
		}
		x += r.depth + m.Gap
	}
	l.LengthUsed = x - m.Gap + m.Margin
	l.Efficiency = Area(ready) / (m.Width * l.LengthUsed)
	if m.Length > 0 && l.LengthUsed > m.Length+rounding {
		return l, []pattern.Finding{tooLong(ready, l, Options{})}
	}
	return l, nil
}

// turn is one way to lay a piece: a rotation, and its box then.
type turn struct {
	rotate geom.Affine
	deg    float64
	box    orb.Bound
}

func (t turn) deep() float64 { return t.box.Max[0] - t.box.Min[0] } // along the length

func (t turn) wide() float64 { return t.box.Max[1] - t.box.Min[1] } // across it

type item struct {
	index int
	turns []turn
}

// newTurn measures the box of everything that is drawn or cut on the piece: a mark that crosses its edge must not be
// on the neighbour.
func newTurn(r *pattern.Ready, angle float64) turn {
	t := turn{rotate: geom.Rotate(angle), deg: degrees(angle)}
	t.box = orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	for _, p := range r.Outline.Points {
		t.box = extend(t.box, t.rotate.Apply(p))
	}
	for _, l := range r.Lines {
		for _, p := range l.Path.Points {
			t.box = extend(t.box, t.rotate.Apply(p))
		}
	}
	return t
}

func extend(b orb.Bound, p orb.Point) orb.Bound {
	for k := range p {
		b.Min[k], b.Max[k] = math.Min(b.Min[k], p[k]), math.Max(b.Max[k], p[k])
	}
	return b
}

func fitting(turns []turn, along, across float64) []turn {
	var out []turn
	for _, t := range turns {
		if t.deep() <= along+rounding && t.wide() <= across+rounding {
			out = append(out, t)
		}
	}
	return out
}

// row is a strip across the width.
type row struct {
	depth, used float64
	places      []spot
}

// spot is a piece in a row: its beginning across the width, without the margin.
type spot struct {
	index int
	turn  turn
	y     float64
}

// best tries two ways - each piece with its short side along the length, and each as it is drawn while that fits - and
// keeps the shorter lay, the first of equal ones.
func best(items []item, across, gap float64) []row {
	flat := rowsOf(items, across, gap, func(it item) turn {
		t := it.turns[0]
		for _, o := range it.turns[1:] {
			if o.deep() < t.deep() {
				t = o
			}
		}
		return t
	})
	drawn := rowsOf(items, across, gap, func(it item) turn { return it.turns[0] })
	if length(drawn, gap) < length(flat, gap)-rounding {
		return drawn
	}
	return flat
}

func length(rows []row, gap float64) float64 {
	var sum float64
	for _, r := range rows {
		sum += r.depth + gap
	}
	return sum
}

func rowsOf(items []item, across, gap float64, pick func(item) turn) []row {
	type choice struct {
		item
		turn turn
	}
	order := make([]choice, 0, len(items))
	for _, it := range items {
		order = append(order, choice{it, pick(it)})
	}
	sort.SliceStable(order, func(i, j int) bool { return order[i].turn.deep() > order[j].turn.deep()+rounding })
	var rows []row
	for _, c := range order {
		placed := false
		for k := range rows {
			if placed = rows[k].take(c.item, c.turn, across, gap); placed {
				break
			}
		}
		if !placed {
			rows = append(rows, row{depth: c.turn.deep(), used: c.turn.wide(), places: []spot{{index: c.index, turn: c.turn}}})
		}
	}
	return rows
}

// take puts a piece into the row, in its chosen turn or another one, if there is room.
func (r *row) take(it item, chosen turn, across, gap float64) bool {
	for _, t := range append([]turn{chosen}, it.turns...) {
		if t.deep() <= r.depth+rounding && r.used+gap+t.wide() <= across+rounding {
			r.places = append(r.places, spot{index: it.index, turn: t, y: r.used + gap})
			r.used += gap + t.wide()
			return true
		}
	}
	return false
}

// place is the map to a spot in a row that begins at x.
func place(s spot, x float64, m pattern.Material) pattern.Placement {
	at := orb.Point{x - s.turn.box.Min[0], m.Margin + s.y - s.turn.box.Min[1]}
	return pattern.Placement{Ready: s.index, Map: geom.Translate(at[0], at[1]).After(s.turn.rotate), At: at, RotationDeg: s.turn.deg}
}
