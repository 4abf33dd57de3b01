// Package lay places cut-ready pieces on a material, beside one another and in rows across its
// width, and says what length they take. It knows nothing of the machine beyond the material's size.
package lay

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// rounding is how much a piece may overhang, in mm, by rounding alone.
const rounding = 1e-6

// Shelf lays the pieces in rows: a row runs across the width and is as deep, along the length, as
// its deepest piece; deep pieces come first, and each piece goes into the first row that has room.
// Grain lines lie along the length on cloth, and point along it on one-way cloth; paper, and cloth
// pieces without a grain line, may be turned by a quarter. On cloth with its wrong side up the whole
// lay is mirrored. Where the rows are longer than the material, true shapes are laid into one another
// instead. Pieces that fit in no turn are left out, with a finding; so is a lay longer than
// the material. Nothing overlaps, and gap and margin are kept.
func Shelf(ready []pattern.Ready, m pattern.Material) (pattern.Lay, []pattern.Finding) {
	l := pattern.Lay{Material: m}
	across := m.Width - 2*m.Margin
	along := math.Inf(1)
	if m.Length > 0 {
		along = m.Length - 2*m.Margin
	}
	var findings []pattern.Finding
	var items []item
	for i := range ready {
		turns := turnsOf(&ready[i], m)
		it := item{index: i, turns: fitting(turns, along, across)}
		if len(it.turns) == 0 {
			findings = append(findings, tooWide(&ready[i], turns[0], along, across, m))
			continue
		}
		items = append(items, it)
	}
	rows := best(items, across, m.Gap)
	x := m.Margin
	for _, r := range rows {
		for _, p := range r.places {
			l.Placements = append(l.Placements, place(p, x, m))
		}
		x += r.depth + m.Gap
	}
	if len(rows) == 0 {
		return l, findings
	}
	l.LengthUsed = x - m.Gap + m.Margin
	var together []nested
	if m.Length > 0 && l.LengthUsed > m.Length+rounding {
		if together = nest(ready, items, m, mostRows); len(together) == len(items) {
			l.Placements, l.LengthUsed = nil, 0
			for _, n := range together {
				l.Placements = append(l.Placements, place(n.spot, m.Margin+n.x, m))
				l.LengthUsed = math.Max(l.LengthUsed, n.x+n.turn.deep()+2*m.Margin)
			}
		}
	}
	laid := make([]pattern.Ready, 0, len(items))
	for _, it := range items {
		laid = append(laid, ready[it.index])
	}
	l.Efficiency = Area(laid) / (m.Width * l.LengthUsed)
	if m.Length > 0 && l.LengthUsed > m.Length+rounding {
		findings = append(findings, pattern.NewFinding(pattern.RuleTooWide,
			fmt.Sprintf("the pieces take %.0f mm of length, and the material has %.0f mm", l.LengthUsed, m.Length),
			divide(ready, together)))
	}
	return l, findings
}

// divide tells which pieces to send first, since they lie on the material together.
func divide(ready []pattern.Ready, together []nested) string {
	var names []string
	for _, n := range together {
		if name := ready[n.index].Name; !slices.Contains(names, name) && whole(ready, together, name) {
			names = append(names, name)
		}
	}
	if len(names) == 0 {
		return "send fewer pieces at a time, or take a longer material"
	}
	return fmt.Sprintf("send fewer pieces at a time: %s fit together, so say pieces: [%s] in a ticket, and the others in a second one; or take a longer material",
		strings.Join(names, ", "), strings.Join(names, ", "))
}

// whole tells whether all copies of a piece are among those laid.
func whole(ready []pattern.Ready, together []nested, name string) bool {
	left := 0
	for i := range ready {
		if ready[i].Name == name {
			left++
		}
	}
	for _, n := range together {
		if ready[n.index].Name == name {
			left--
		}
	}
	return left == 0
}

// Area is the area within the pieces' cut lines in mm2; cut-outs count as used.
func Area(ready []pattern.Ready) float64 {
	var sum float64
	for i := range ready {
		sum += ready[i].Outline.Area()
	}
	return sum
}

// turn is one way to lay a piece: turned by a rotation, its box then.
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

// turnsOf lists the ways in which a piece may lie. End for end makes no difference to rows of boxes.
func turnsOf(r *pattern.Ready, m pattern.Material) []turn {
	if m.Cloth && r.Grain != nil && geom.Dist(r.Grain.A, r.Grain.B) > geom.Tiny {
		v := geom.Sub(r.Grain.B, r.Grain.A)
		return []turn{newTurn(r, -math.Atan2(v[1], v[0]))}
	}
	return []turn{newTurn(r, 0), newTurn(r, math.Pi/2)}
}

// newTurn measures the box of all that is drawn or cut on the piece: a mark that reaches over its
// edge must not land on the neighbour.
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

func degrees(angle float64) float64 {
	d := math.Mod(angle*180/math.Pi, 360)
	if d < 0 {
		d += 360
	}
	if d >= 360 || math.Abs(d) < 1e-12 {
		return 0
	}
	return d
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

func tooWide(r *pattern.Ready, t turn, along, across float64, m pattern.Material) pattern.Finding {
	room := fmt.Sprintf("%.0f mm across", across)
	if !math.IsInf(along, 1) {
		room += fmt.Sprintf(" and %.0f mm along", along)
	}
	how := "in any turn"
	if m.Cloth && r.Grain != nil {
		how = "along its grain"
	}
	f := pattern.NewFinding(pattern.RuleTooWide,
		fmt.Sprintf("the piece is %.0f mm long and %.0f mm wide and does not fit %s: the material takes %s", t.deep(), t.wide(), how, room),
		"split the piece at a seam, or take a wider material")
	f.Piece, f.Index = r.Name, r.Index
	f.At = pattern.Place(r.Outline.Bound().Center())
	return f
}

// row is a strip across the width.
type row struct {
	depth, used float64
	places      []spot
}

// spot is a piece in a row: where across the width it begins, without the margin.
type spot struct {
	index int
	turn  turn
	y     float64
}

// best tries both habits - each piece with its short side along the length, and each as it is drawn
// while that fits - and keeps the shorter lay, the first of two equal ones.
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

// place makes the map that brings a piece to its spot in a row that begins at x.
func place(s spot, x float64, m pattern.Material) pattern.Placement {
	at := orb.Point{x - s.turn.box.Min[0], m.Margin + s.y - s.turn.box.Min[1]}
	p := pattern.Placement{Ready: s.index, Map: geom.Translate(at[0], at[1]).After(s.turn.rotate), At: at, RotationDeg: s.turn.deg}
	if !m.FaceDown || !m.Cloth {
		return p
	}
	// With the wrong side up everything is seen from behind: turned over about the length, so that
	// the grain still points the same way.
	p.Map = geom.Affine{A: 1, D: -1, F: m.Width}.After(p.Map)
	p.At, p.RotationDeg, p.Mirrored = inWords(p.Map)
	return p
}

// inWords says a rigid map as what is done first to last: turned over (x becomes -x), turned about
// the origin, moved.
func inWords(m geom.Affine) (at orb.Point, deg float64, mirrored bool) {
	mirrored = m.Det() < 0
	a, b := m.A, m.B
	if mirrored {
		a, b = -a, -b
	}
	return orb.Point{m.E, m.F}, degrees(math.Atan2(b, a)), mirrored
}
