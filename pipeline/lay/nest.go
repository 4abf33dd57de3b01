package lay

import (
	"math"
	"math/bits"
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
	runs       [][]run // of a piece's mask only
}

func newMask(long, wide int) mask {
	m := mask{long: long, wide: wide, bits: make([][]uint64, long)}
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

// free is the first place across the width, from k on toward larger ones or, from the far side, toward
// smaller ones, at which a row of runs lies on nothing that is taken in a row. It may lie past the edge.
func free(taken []uint64, runs []run, k int, fromFar bool) int {
	for again := true; again; {
		again = false
		for _, r := range runs {
			for {
				at := -1
				if fromFar {
					at = firstSet(taken, k+r.from, k+r.to)
				} else {
					at = lastSet(taken, k+r.from, k+r.to)
				}
				if at < 0 {
					break
				}
				again = len(runs) > 1
				if fromFar {
					k = at - r.to
				} else {
					k = at + 1 - r.from
				}
				if k < 0 || k+runs[len(runs)-1].to > 64*len(taken) {
					return k
				}
			}
		}
	}
	return k
}

// firstSet is the first bit set from one place up to another, -1 where none is.
func firstSet(row []uint64, from, to int) int {
	for w := from >> 6; w<<6 < to; w++ {
		bit := row[w]
		if w == from>>6 {
			bit &= ^uint64(0) << (from & 63)
		}
		if bit != 0 {
			if at := w<<6 + bits.TrailingZeros64(bit); at < to {
				return at
			}
			return -1
		}
	}
	return -1
}

// lastSet is the last one, -1 where none is.
func lastSet(row []uint64, from, to int) int {
	for w := (to - 1) >> 6; w >= from>>6; w-- {
		bit := row[w]
		if w == (to-1)>>6 {
			bit &= ^uint64(0) >> (63 - (to-1)&63)
		}
		if bit != 0 {
			if at := w<<6 + bits.Len64(bit) - 1; at >= from {
				return at
			}
			return -1
		}
	}
	return -1
}

// run is squares of a row that lie together: from one up to another.
type run struct{ from, to int }

// rows are the runs of a mask, row by row.
func (m mask) rows() [][]run {
	out := make([][]run, m.long)
	for i, row := range m.bits {
		for k := 0; k < m.wide; k++ {
			at := firstSet(row, k, m.wide)
			if at < 0 {
				break
			}
			for k = at; k < m.wide && row[k/64]&(1<<(k%64)) != 0; {
				k++
			}
			out[i] = append(out[i], run{at, k})
		}
	}
	return out
}

// take marks a mask, grown by the gap, as taken where the piece is set down at i, k.
func (m mask) take(grown mask, i, k, gap int) {
	for r, row := range grown.bits {
		if at := i + r - gap; at >= 0 && at < m.long {
			orRow(m.bits[at], row, k-gap)
			m.bits[at][len(m.bits[at])-1] &= m.inWidth()
		}
	}
}

// inWidth keeps of a row's last word the squares within the width.
func (m mask) inWidth() uint64 { return ^uint64(0) >> uint((64-m.wide%64)%64) }

// orRow adds a row's bits to another, by places further along; what lands before or behind it is left out.
func orRow(to, row []uint64, by int) {
	word, shift := by>>6, uint(by&63)
	for w, bits := range row {
		if at := word + w; at >= 0 && at < len(to) {
			to[at] |= bits << shift
		}
		if at := word + w + 1; shift > 0 && at >= 0 && at < len(to) {
			to[at] |= bits >> (64 - shift)
		}
	}
}

// grown is the mask with the gap round it: its square 0, 0 is gap squares before the mask's.
func (m mask) grown(gap int) mask {
	wider := newMask(m.long, m.wide+2*gap)
	for r, row := range m.bits {
		for by := range 2*gap + 1 {
			orRow(wider.bits[r], row, by)
		}
	}
	out := newMask(m.long+2*gap, m.wide+2*gap)
	for r, row := range wider.bits {
		for by := range 2*gap + 1 {
			orRow(out.bits[r+by], row, 0)
		}
	}
	return out
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

// mostRows is how many rows of squares one lay looks at before it stops trying: about a second's work.
const mostRows = 100_000_000

// nest lays true shapes: big pieces first, each as far toward its end as it goes. Habits are tried until
// all fit or the rows left to look at are used up; else it gives the most pieces that lie on the material together. It is
// asked only where rows are too long, since it costs more.
func nest(ready []pattern.Ready, items []item, m pattern.Material, left int) []nested {
	long, wide := int((m.Length-2*m.Margin+rounding)/cell), int((m.Width-2*m.Margin+rounding)/cell)
	gap := int(math.Ceil((m.Gap - rounding) / cell))
	order := append([]item(nil), items...)
	masks, grown := map[int][]mask{}, map[int][]mask{}
	for i := range order {
		it := &order[i]
		it.turns = moreTurns(&ready[it.index], it.turns, m)
		for _, t := range it.turns {
			o := maskOf(&ready[it.index], t)
			o.runs = o.rows()
			masks[it.index], grown[it.index] = append(masks[it.index], o), append(grown[it.index], o.grown(gap))
		}
	}
	size := func(it item) float64 { return it.turns[0].deep() * it.turns[0].wide() }
	sort.SliceStable(order, func(i, j int) bool { return size(order[i]) > size(order[j])+rounding })
	var most []nested
	for _, h := range habits() {
		if left <= 0 || h.all && len(order)-len(most) > fewLeft {
			break
		}
		f := filling{masks: masks, grown: grown, taken: newMask(long, wide), gap: gap, left: &left}
		got := f.fill(order, h)
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

// filling is a material that is being laid full.
type filling struct {
	masks, grown map[int][]mask // of each piece, by turn
	taken        mask
	gap          int  // in squares
	left         *int // rows that may still be looked at
}

func (f filling) fill(order []item, h habit) []nested {
	var out []nested
	for n, it := range order {
		turns := f.masks[it.index]
		s := search{turns: turns, fromFar: h.far[min(n, 2)], hug: n < 2, fromEnd: h.end && n == 1}
		if n < 2 && h.turn[n] >= 0 {
			s.first = min(h.turn[n], len(turns)-1)
			s.turns = turns[s.first : s.first+1]
		}
		t, i, k := s.place(f.taken, f.left)
		if t < 0 {
			if h.all {
				break
			}
			continue
		}
		t += s.first
		f.taken.take(f.grown[it.index][t], i, k, f.gap)
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
func (s search) place(taken mask, left *int) (turn, i, k int) {
	best, turn := math.MaxInt, -1
	for t, o := range s.turns {
		row := 0
		for a := 0; a+o.long <= taken.long && a+o.long < best; a++ {
			at := a
			if s.fromEnd {
				at = taken.long - o.long - a
			}
			var free int
			if free, row = s.across(taken, o, at, row, left); free >= 0 {
				best, turn, i, k = a+o.long, t, at, free
				break
			}
		}
	}
	return turn, i, k
}

// across is the first free place across the width, -1 where there is none. Each row moves the piece on as
// far as it must go; where all rows leave it, it is free. It begins with the row that moved it last, since
// a step along the length it mostly does again.
func (s search) across(taken, o mask, at, row int, left *int) (k, moved int) {
	if o.wide > taken.wide || *left < 0 {
		return -1, row
	}
	if s.fromFar {
		k = taken.wide - o.wide
	}
	for r, still := row, 0; still < o.long; r, still = (r+1)%o.long, still+1 {
		*left--
		to := free(taken.bits[at+r], o.runs[r], k, s.fromFar)
		if to == k {
			continue
		}
		if k, still, row = to, 0, r; s.hug || *left < 0 || k < 0 || k+o.wide > taken.wide {
			return -1, row
		}
	}
	return k, row
}
