package lay

import (
	"math"
	"sort"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// cell is the side of the squares, in mm, on which true shapes are laid where rows do not fit.
const cell = 2.0

// mask is the squares that a piece covers in one turn: for each square along the length a row of bits
// across the width.
type mask struct {
	long, wide int
	bits       [][]uint64
}

func newMask(long, wide int) mask {
	m := mask{long, wide, make([][]uint64, long)}
	for i := range m.bits {
		m.bits[i] = make([]uint64, (wide+63)/64)
	}
	return m
}

func (m mask) set(i, k int) {
	if i >= 0 && k >= 0 && i < m.long && k < m.wide {
		m.bits[i][k/64] |= 1 << (k % 64)
	}
}

// meets is the row of o that touches what is taken where o is set down at i, k, or -1. The row that
// touched last time is looked at first: a step on, it mostly touches again.
func (m mask) meets(o mask, i, k, last int) int {
	if last >= 0 && m.rowMeets(o.bits[last], i+last, k) {
		return last
	}
	for r, row := range o.bits {
		if m.rowMeets(row, i+r, k) {
			return r
		}
	}
	return -1
}

func (m mask) rowMeets(row []uint64, i, k int) bool {
	at, word, shift := m.bits[i], k/64, uint(k%64)
	for w, bits := range row {
		if bits == 0 {
			continue
		}
		if word+w < len(at) && at[word+w]&(bits<<shift) != 0 {
			return true
		}
		if shift > 0 && word+w+1 < len(at) && at[word+w+1]&(bits>>(64-shift)) != 0 {
			return true
		}
	}
	return false
}

// take marks a mask as taken at i, k, with the gap round it.
func (m mask) take(o mask, i, k, gap int) {
	for r := range o.long {
		for c := range o.wide {
			if o.bits[r][c/64]&(1<<(c%64)) == 0 {
				continue
			}
			for dr := -gap; dr <= gap; dr++ {
				for dc := -gap; dc <= gap; dc++ {
					m.set(i+r+dr, k+c+dc)
				}
			}
		}
	}
}

// maskOf covers every square that a piece touches: those its lines run through, and those within.
func maskOf(r *pattern.Ready, t turn) mask {
	m := newMask(int(t.deep()/cell)+1, int(t.wide()/cell)+1)
	local := func(p orb.Point) orb.Point { return geom.Mul(geom.Sub(t.rotate.Apply(p), t.box.Min), 1/cell) }
	line := func(pts []orb.Point, closed bool) {
		n := len(pts)
		for i := range n {
			if i == n-1 && !closed {
				return
			}
			a, b := local(pts[i]), local(pts[(i+1)%n])
			steps := int(geom.Dist(a, b)*8) + 1 // eighths of a square: no corner of one is stepped over by more
			for s := range steps + 1 {
				q := geom.Lerp(a, b, float64(s)/float64(steps))
				for _, d := range [4]orb.Point{{0.07, 0.07}, {-0.07, 0.07}, {0.07, -0.07}, {-0.07, -0.07}} {
					m.set(int(math.Floor(q[0]+d[0])), int(math.Floor(q[1]+d[1])))
				}
			}
		}
	}
	line(r.Outline.Points, true)
	for _, l := range r.Lines {
		line(l.Path.Points, l.Path.Closed)
	}
	turned := geom.Path{Closed: true}
	for _, p := range r.Outline.Points {
		turned.Points = append(turned.Points, local(p))
	}
	for i := range m.long {
		x := float64(i) + 0.5
		var ys []float64
		for k := range turned.Points {
			a, b := turned.Points[k], turned.Points[(k+1)%len(turned.Points)]
			if (a[0] <= x) != (b[0] <= x) {
				ys = append(ys, a[1]+(x-a[0])*(b[1]-a[1])/(b[0]-a[0]))
			}
		}
		sort.Float64s(ys)
		for j := 0; j+1 < len(ys); j += 2 {
			for k := int(ys[j]); k <= int(ys[j+1]); k++ {
				m.set(i, k)
			}
		}
	}
	return m
}

// nested is a piece set down on the squares.
type nested struct {
	spot
	x float64 // along, without the margin
}

// nest lays true shapes: big pieces first, each as far toward its end as it goes. Habits are tried until all fit; else it gives the most pieces that lie on the material together. It is asked
// only where rows are too long, since it costs more.
func nest(ready []pattern.Ready, items []item, m pattern.Material) []nested {
	long, wide := int((m.Length-2*m.Margin+rounding)/cell), int((m.Width-2*m.Margin+rounding)/cell)
	gap := int(math.Ceil((m.Gap - rounding) / cell))
	order := append([]item(nil), items...)
	masks := map[int][]mask{}
	for i := range order {
		it := &order[i]
		it.turns = moreTurns(&ready[it.index], it.turns, m)
		for _, t := range it.turns {
			masks[it.index] = append(masks[it.index], maskOf(&ready[it.index], t))
		}
	}
	size := func(it item) float64 { return it.turns[0].deep() * it.turns[0].wide() }
	sort.SliceStable(order, func(i, j int) bool { return size(order[i]) > size(order[j])+rounding })
	var most []nested
	for _, h := range habits() {
		if h.all && len(order)-len(most) > fewLeft {
			break
		}
		got := fill(order, masks, newMask(long, wide), gap, h)
		if len(got) > len(most) {
			most = got
		}
		if len(most) == len(order) {
			break
		}
	}
	return most
}

// habit is a way of laying. The two biggest keep to an edge of the material.
type habit struct {
	turn [2]int  // of the two biggest, -1 for the one that ends soonest
	far  [3]bool // the biggest, the second and all others from the far edge across
	end  bool    // the second from the far end along, so that what is left lies between the two
	all  bool    // gives up at the first piece that finds no place
}

// fewLeft is how many pieces may be left over for it to be worth while to try harder.
const fewLeft = 4

// habits are tried in this order, the likely ones first.
func habits() []habit {
	var out []habit
	sides := func(h habit) {
		for k := range 8 {
			h.far = [3]bool{k&1 == 1, k&2 == 2, k&4 == 4}
			out = append(out, h)
		}
	}
	sides(habit{turn: [2]int{-1, -1}})
	for _, turn := range [][2]int{{1, 0}, {0, 1}, {0, 0}, {1, 1}} {
		for _, end := range []bool{true, false} {
			sides(habit{turn: turn, end: end, all: true})
		}
	}
	return out
}

// moreTurns adds each turn's end for end where the cloth has no nap, and its quarter turns for what
// is cut on the true bias: there the threads cross the piece alike either way.
func moreTurns(r *pattern.Ready, turns []turn, m pattern.Material) []turn {
	if m.Cloth && m.OneWay && r.Grain != nil {
		return turns
	}
	more := []float64{180}
	if r.Grain != nil && onBias(r) {
		more = []float64{180, 90, 270}
	}
	out := append([]turn(nil), turns...)
	for _, t := range turns {
		for _, deg := range more {
			out = append(out, newTurn(r, (t.deg+deg)*math.Pi/180))
		}
	}
	return out
}

// onBias tells whether a piece's longest edge lies at 45 degrees to its grain line, within half a
// degree.
//
// Only strips are: a piece whose area is a small share of its longest edge's square.
func onBias(r *pattern.Ready) bool {
	var long orb.Point
	pts := r.Outline.Points
	for i := range pts {
		if v := geom.Sub(pts[(i+1)%len(pts)], pts[i]); geom.Norm(v) > geom.Norm(long) {
			long = v
		}
	}
	if r.Outline.Area() > stripShare*geom.Dot(long, long) {
		return false // no strip: an edge that happens to lie at 45 degrees says nothing of the piece
	}
	g := geom.Sub(r.Grain.B, r.Grain.A)
	off := math.Abs(math.Atan2(geom.Cross(g, long), geom.Dot(g, long))) * 180 / math.Pi
	return math.Abs(off-45) < 0.5 || math.Abs(off-135) < 0.5
}

// stripShare is how much area a strip may have for the square of its length: a fifth as wide as long.
const stripShare = 0.2

func fill(order []item, masks map[int][]mask, taken mask, gap int, h habit) []nested {
	var out []nested
	for n, it := range order {
		turns := masks[it.index]
		s := search{turns: turns, fromFar: h.far[min(n, 2)], hug: n < 2, fromEnd: h.end && n == 1}
		if n < 2 && h.turn[n] >= 0 {
			s.first = min(h.turn[n], len(turns)-1)
			s.turns = turns[s.first : s.first+1]
		}
		t, i, k := s.place(taken)
		if t < 0 {
			if h.all {
				break
			}
			continue
		}
		t += s.first
		taken.take(turns[t], i, k, gap)
		out = append(out, nested{spot{index: it.index, turn: it.turns[t], y: float64(k) * cell}, float64(i) * cell})
	}
	return out
}

// search looks for a piece's place.
type search struct {
	turns   []mask
	first   int // of all turns, the one with which these begin
	fromFar bool
	hug     bool // keeps it at the edge
	fromEnd bool
}

// place is the turn and the place that ends soonest along the length, or begins latest from the end;
// the turn is -1 where there is none.
func (s search) place(taken mask) (turn, i, k int) {
	best, turn := math.MaxInt, -1
	for t, o := range s.turns {
		for a := 0; a+o.long <= taken.long && a+o.long < best; a++ {
			at := a
			if s.fromEnd {
				at = taken.long - o.long - a
			}
			if free := s.across(taken, o, at); free >= 0 {
				best, turn, i, k = a+o.long, t, at, free
				break
			}
		}
	}
	return turn, i, k
}

// across is the first free place across the width, -1 where there is none.
func (s search) across(taken, o mask, at int) int {
	touched := -1
	for b := 0; b+o.wide <= taken.wide; b++ {
		c := b
		if s.fromFar {
			c = taken.wide - o.wide - b
		}
		if touched = taken.meets(o, at, c, touched); touched < 0 {
			return c
		}
		if s.hug {
			break
		}
	}
	return -1
}
