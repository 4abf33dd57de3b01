package assemble

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// exactTol is how far apart two ends may lie that were written as the same point: the rounding of a
// file with four decimals. Ends that agree so well are joined before any others, so that a chain of
// very short lines is not joined across its neighbours.
const exactTol = 1e-4

// maxMeet is how many loose ends may meet at one place. More than these are no outline, and trying
// every pair of them would cost the square of their number.
const maxMeet = 32

// matcher joins the ends of open lines into chains. Line i has the ends 2i (its start) and 2i+1.
type matcher struct {
	lines []geom.Path
	at    []orb.Point // of each end
	out   []orb.Point // direction in which the line would run on beyond the end
	mate  []int       // the end it is joined to, -1 while free
	joint []joint     // how, in the view of this end
	// other is, for an end at which a chain ends, the chain's other end; long is its length.
	other []int
	long  []float64
	own   []float64 // length of each line by itself
	// crowded are places at which too many ends meet.
	crowded []orb.Point
}

// joint is how an end meets its mate.
type joint struct {
	at   orb.Point // where the line ends after joining, unless bridged
	trim float64   // mm cut off this end
	// bridged ends stay where they are, with a straight line between them.
	bridged bool
	size    float64 // of the gap, or of the longer overrun, mm
	mid     orb.Point
}

// pair is two free ends that may be joined.
type pair struct {
	p, q   int
	d      float64
	turn   float64
	jp, jq joint
}

func newMatcher(lines []geom.Path) *matcher {
	n := 2 * len(lines)
	m := &matcher{
		lines: lines, at: make([]orb.Point, n), out: make([]orb.Point, n), mate: make([]int, n),
		joint: make([]joint, n), other: make([]int, n), long: make([]float64, n),
		own: make([]float64, len(lines)),
	}
	for i, p := range lines {
		last := len(p.Points) - 1
		m.at[2*i], m.at[2*i+1] = p.Points[0], p.Points[last]
		m.out[2*i] = outward(p.Points, 0, 1)
		m.out[2*i+1] = outward(p.Points, last, -1)
		l := p.Length()
		m.own[i], m.long[2*i], m.long[2*i+1] = l, l, l
		m.other[2*i], m.other[2*i+1] = 2*i+1, 2*i
		m.mate[2*i], m.mate[2*i+1] = -1, -1
	}
	return m
}

// outward is the direction from the first point of some distance towards the end.
func outward(pts []orb.Point, end, step int) orb.Point {
	for j := end + step; j >= 0 && j < len(pts); j += step {
		if u := geom.Unit(geom.Sub(pts[end], pts[j])); u != (orb.Point{}) {
			return u
		}
	}
	return orb.Point{}
}

// run joins ends in three rounds: those written as the same point, those within the rounding of a
// drawing, and - only where the line may be mended - those with a gap or an overrun. In each round
// the pairs that have no rival go first, then those that close a chain, then the rest by distance
// and by the straighter way on; nothing depends on the order or direction of the lines.
func (m *matcher) run(mend bool) {
	m.round(exactTol, m.touch)
	m.round(geom.CloseTol, m.touch)
	if mend {
		m.round(2*geom.BridgeTol, m.mend)
	}
}

func (m *matcher) touch(p, q int) (jp, jq joint, ok bool) {
	j := joint{at: geom.Lerp(m.at[p], m.at[q], 0.5)}
	return j, j, true
}

func (m *matcher) round(radius float64, how func(p, q int) (jp, jq joint, ok bool)) {
	pairs := m.candidates(radius, how)
	rivals := make(map[int]int, 2*len(pairs))
	for _, c := range pairs {
		rivals[c.p]++
		rivals[c.q]++
	}
	var contested []pair
	for _, c := range pairs {
		if rivals[c.p] == 1 && rivals[c.q] == 1 {
			m.join(c, radius)
		} else {
			contested = append(contested, c)
		}
	}
	slices.SortFunc(contested, m.better)
	byEnds := make(map[[2]int]pair, len(contested))
	for _, c := range contested {
		byEnds[[2]int{c.p, c.q}] = c
	}
	for _, c := range contested {
		if m.other[c.p] == c.q {
			m.join(c, radius)
		}
	}
	for _, c := range contested {
		if !m.join(c, radius) {
			continue
		}
		a, b := m.chainEnds(c)
		if closing, ok := byEnds[[2]int{min(a, b), max(a, b)}]; ok {
			m.join(closing, radius)
		}
	}
}

// chainEnds are the free ends of the chain that a pair has just been joined into.
func (m *matcher) chainEnds(c pair) (a, b int) {
	a = m.other[c.p]
	return a, m.other[a]
}

// better sorts pairs that have rivals: by distance in steps that are coarser than rounding, then by
// the smaller turn, then by place.
func (m *matcher) better(a, b pair) int {
	step := func(d float64) float64 { return math.Floor(d / 0.01) }
	lo := func(c pair) (orb.Point, orb.Point) {
		u, v := m.at[c.p], m.at[c.q]
		if comparePoints(v, u) < 0 {
			u, v = v, u
		}
		return u, v
	}
	au, av := lo(a)
	bu, bv := lo(b)
	return cmp.Or(
		cmp.Compare(step(a.d), step(b.d)),
		cmp.Compare(math.Round(a.turn*1e6), math.Round(b.turn*1e6)),
		comparePoints(au, bu), comparePoints(av, bv),
		cmp.Compare(m.long[a.p]+m.long[a.q], m.long[b.p]+m.long[b.q]),
	)
}

// comparePoints orders by y, then by x.
func comparePoints(a, b orb.Point) int {
	return cmp.Or(cmp.Compare(a[1], b[1]), cmp.Compare(a[0], b[0]))
}

// join makes the pair mates. A chain hardly longer than the gap is not closed on itself.
func (m *matcher) join(c pair, radius float64) bool {
	if m.mate[c.p] >= 0 || m.mate[c.q] >= 0 {
		return false
	}
	a, b := m.other[c.p], m.other[c.q]
	if a == c.q && m.long[c.p] <= 4*radius {
		return false
	}
	m.mate[c.p], m.mate[c.q] = c.q, c.p
	m.joint[c.p], m.joint[c.q] = c.jp, c.jq
	if a != c.q {
		sum := m.long[c.p] + m.long[c.q]
		m.other[a], m.other[b] = b, a
		m.long[a], m.long[b] = sum, sum
	}
	return true
}

// candidates finds the pairs of free ends within a radius by a grid.
func (m *matcher) candidates(radius float64, how func(p, q int) (jp, jq joint, ok bool)) []pair {
	cells := map[[2]int64][]int{}
	cell := func(p orb.Point) [2]int64 {
		return [2]int64{int64(math.Floor(p[0] / radius)), int64(math.Floor(p[1] / radius))}
	}
	for e, at := range m.at {
		if m.mate[e] < 0 {
			k := cell(at)
			cells[k] = append(cells[k], e)
		}
	}
	var pairs []pair
	for p, at := range m.at {
		if m.mate[p] >= 0 {
			continue
		}
		k := cell(at)
		if own := cells[k]; len(own) > maxMeet {
			if own[0] == p {
				m.crowded = append(m.crowded, at)
			}
			continue
		}
		for dx := int64(-1); dx <= 1; dx++ {
			for dy := int64(-1); dy <= 1; dy++ {
				near := cells[[2]int64{k[0] + dx, k[1] + dy}]
				if len(near) > maxMeet {
					continue
				}
				pairs = m.pairsWith(pairs, p, near, radius, how)
			}
		}
	}
	return pairs
}

func (m *matcher) pairsWith(pairs []pair, p int, near []int, radius float64, how func(p, q int) (jp, jq joint, ok bool)) []pair {
	for _, q := range near {
		if q <= p {
			continue
		}
		d := geom.Dist(m.at[p], m.at[q])
		if d > radius || m.other[p] == q && m.long[p] <= 4*radius {
			continue
		}
		if jp, jq, ok := how(p, q); ok {
			back := geom.Mul(m.out[q], -1)
			turn := math.Abs(math.Atan2(geom.Cross(m.out[p], back), geom.Dot(m.out[p], back)))
			pairs = append(pairs, pair{p: p, q: q, d: d, turn: turn, jp: jp, jq: jq})
		}
	}
	return pairs
}
