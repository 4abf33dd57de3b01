package check

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/pattern"
)

// mostRuns bounds the runs of a seam whose notches are compared: each may run either way.
const mostRuns = 8

// notchNoPartner walks each seam and finds notches on one side that meet none on the other, and no place
// either where two of its edges are joined.
func notchNoPartner(d *draft) []pattern.Finding {
	joints, _ := d.joints()
	var out []pattern.Finding
	for _, j := range joints {
		if j.seam.Gathered || j.seam.Unnotched {
			continue
		}
		orders := ordersOf(&j)
		if len(orders) == 0 {
			continue
		}
		w := walk{la: j.a.length(), lb: j.b.length(), tolerance: d.lim.seamTolerance(), spread: len(j.a)+len(j.b) > 2 && j.seam.Underlap == 0 && !j.seam.Lapped}
		var aloneA, aloneB []mark
		best := math.MaxInt
		for _, o := range orders {
			waysB := d.walks(o[1])
			for _, a := range d.walks(o[0]) {
				for _, b := range waysB {
					for _, b := range [][]mark{b, reversed(b, j.b.length())} {
						ta, tb := w.unmatched(a, b)
						ta, tb = inside(ta, w.la), inside(tb, w.lb)
						if ta, tb = offJoints(ta, b, w.meet), offJoints(tb, a, func(b, a mark) bool { return w.meet(a, b) }); len(ta)+len(tb) < best {
							aloneA, aloneB, best = ta, tb, len(ta)+len(tb)
						}
					}
				}
			}
		}
		na, nb := seamWords(j)
		out = append(out, j.alone(aloneA, nb)...)
		out = append(out, j.alone(aloneB, na)...)
	}
	return out
}

// walk compares the notches of two sides of a seam of such lengths. Spread is the ease of a sum, as of armholes and a cap, which is
// not all held at one place.
type walk struct {
	la, lb, tolerance float64
	spread            bool
}

// meet tells whether a place on one side comes to one on the other. Their difference is no more than all the ease; where that is
// spread, it lies within half of the ease of its share as far as there (common practice).
func (w walk) meet(a, b mark) bool {
	ease := w.lb - w.la
	by := b.s - a.s
	if by < math.Min(0, ease)-w.tolerance || by > math.Max(0, ease)+w.tolerance {
		return false
	}
	return !w.spread || math.Abs(by-ease*a.s/w.la) <= math.Abs(ease)/2+w.tolerance
}

// ordersOf are the orders in which the runs of a seam's two sides are walked, none where nobody can tell of which of several
// pieces a notch is. Edges that are all taken equally often are compared once.
func ordersOf(j *joined) [][2]side {
	if len(j.a) == 1 && len(j.b) == 1 && j.a[0].times == j.b[0].times {
		a, b := j.a[0], j.b[0]
		a.times, b.times = 1, 1
		j.a, j.b = side{a}, side{b}
		return [][2]side{{j.a, j.b}}
	}
	a, b := j.a.orders(), j.b.orders()
	if len(a) == 0 || len(b) == 0 || len(a[0])+len(b[0]) > mostRuns {
		return nil
	}
	var out [][2]side
	for _, a := range a {
		for _, b := range b {
			out = append(out, [2]side{a, b})
		}
	}
	return out
}

// orders are the runs of a side, a half on the fold that is taken twice as it lies opened out: once to the fold, and once from
// it. Such halves alone make a ring, of which nobody says where it begins: at any joint or fold. There is none where an edge
// is taken more often, or is no half and does not make the side by itself.
func (w side) orders() []side {
	var out side
	ring := true
	for _, r := range w {
		times := r.times
		r.times = 1
		way := r.towardFold()
		switch {
		case times == 1:
			out, ring = append(out, r), false
		case times != 2 || way == free && len(w) > 1:
			return nil
		default:
			to, from := r, r
			to.way, from.way = way, -way
			out, ring = append(out, to, from), ring && way != free
		}
	}
	orders := []side{out}
	for k := 1; ring && k < len(out); k++ {
		orders = append(orders, append(slices.Clone(out[k:]), out[:k]...))
	}
	return orders
}

// towardFold is the way in which a run is walked to the fold at its one end, free where neither or both end there.
func (w run) towardFold() way {
	from, to, ok := w.corners()
	switch {
	case !ok || from.cross.Fold == to.cross.Fold:
		return free
	case to.cross.Fold:
		return forth
	}
	return back
}

// way is how a run is walked.
type way int

const (
	back  way = -1 // against its line
	free  way = 0  // either way
	forth way = 1
)

// mark is a notch on a side of a seam, at a length along it, or a joint of two of its runs.
type mark struct {
	s     float64
	at    orb.Point
	in    run    // in which it lies
	say   string // where it stands
	joint bool
}

// inside leaves out the notches at either end of a side: both sides end there, and what is marked is where they meet the next seam.
func inside(alone []mark, length float64) []mark {
	return slices.DeleteFunc(alone, func(m mark) bool { return m.s <= onLine || m.s >= length-onLine })
}

// offJoints leaves out the notches that meet a joint of the other side.
func offJoints(alone, other []mark, meet func(m, joint mark) bool) []mark {
	return slices.DeleteFunc(alone, func(m mark) bool {
		return slices.ContainsFunc(other, func(o mark) bool { return o.joint && meet(m, o) })
	})
}

// walks are the notches of a side for each way in which its runs may follow one another: each runs either
// way, but where two meet at edges that are sewn together or of one kind, no other way is meant.
func (d *draft) walks(w side) [][]mark {
	var all, sure [][]mark
	for way := range 1 << len(w) {
		if w.against(way) {
			continue
		}
		var marks []mark
		begin, meeting := 0.0, true
		for k, r := range w {
			if k > 0 {
				marks = append(marks, mark{s: begin, joint: true})
			}
			own := r.notches(d)
			if way>>k&1 == 1 {
				own = reversed(own, r.length)
			}
			for _, m := range own {
				m.s, m.in = m.s+begin, r
				if slices.ContainsFunc(marks, func(o mark) bool { return o.at == m.at && o.in.s == m.in.s && math.Abs(o.s-m.s) <= onLine }) {
					continue // on the fold, and its own mirror image
				}
				marks = append(marks, m)
			}
			begin += r.length
			meeting = meeting && (k == 0 || d.meet(w[k-1], way>>(k-1)&1 == 1, r, way>>k&1 == 1))
		}
		all = append(all, marks)
		if meeting {
			sure = append(sure, marks)
		}
	}
	if len(sure) > 0 {
		return sure
	}
	return all
}

// against tells of ways, a bit for each run that is set where it is walked back, that are not those of a half to and from
// its fold.
func (w side) against(ways int) bool {
	for k, r := range w {
		if isBack := ways>>k&1 == 1; r.way != free && isBack != (r.way == back) {
			return true
		}
	}
	return false
}

// meet tells whether the end of one run, walked against its line where back is true, meets the start of
// the next: the edges that cross there are sewn together or of one kind.
func (d *draft) meet(a run, backA bool, b run, backB bool) bool {
	a0, a1, okA := a.corners()
	b0, b1, okB := b.corners()
	if !okA || !okB {
		return false
	}
	if backA {
		a1 = a0
	}
	if backB {
		b0 = b1
	}
	if alike(a1, b0) || a.way != free && a.s == b.s && a1.at == b0.at { // at the fold
		return true
	}
	other := d.sides(b0)
	for at := range d.sides(a1) {
		if other[[2]int{at[0], 1 - at[1]}] {
			return true
		}
	}
	return false
}

// notches are those of the piece that lie over the run, as its line runs.
func (w run) notches(d *draft) []mark {
	from, _ := edgeSpan(w.s.p, w.line, w.first())
	var out []mark
	for _, n := range w.s.notches() {
		if n.Along != nil {
			if s, on := w.along(*n.Along); on {
				out = append(out, mark{s: s, at: n.At, say: n.Along.Words})
			}
			continue
		}
		near := w.line.Nearest(n.At)
		if near.Dist > n.allowance+onLine && !n.OnSew {
			continue
		}
		s := near.S - from
		if s < -onLine {
			s += w.ruler.Length()
		}
		if s >= -onLine && s <= w.length+onLine {
			out = append(out, mark{s: s, at: n.At, say: "at " + w.s.place(n.At)})
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].s < out[j].s })
	return out
}

// along is how far along the run a notch stands whose place on its edge as worn is known.
func (w run) along(n pattern.Along) (s float64, on bool) {
	edges := slices.Clone(w.edges)
	if w.turned {
		slices.Reverse(edges)
	}
	for _, i := range edges {
		if i == n.Edge {
			return s + n.Worn, n.Worn >= 0
		}
		s += wornLength(w.s.p, w.line, i)
	}
	return 0, false
}

func reversed(marks []mark, length float64) []mark {
	out := make([]mark, len(marks))
	for i, m := range marks {
		m.s = length - m.s
		out[len(marks)-1-i] = m
	}
	return out
}

// unmatched pairs two sorted lists greedily and gives what is left of each.
func (w walk) unmatched(a, b []mark) (aloneA, aloneB []mark) {
	isJoint := func(m mark) bool { return m.joint }
	a, b = slices.DeleteFunc(slices.Clone(a), isJoint), slices.DeleteFunc(slices.Clone(b), isJoint)
	i, k := 0, 0
	for i < len(a) && k < len(b) {
		switch {
		case w.meet(a[i], b[k]):
			i, k = i+1, k+1
		case a[i].s*w.lb < b[k].s*w.la:
			aloneA, i = append(aloneA, a[i]), i+1
		default:
			aloneB, k = append(aloneB, b[k]), k+1
		}
	}
	return append(aloneA, a[i:]...), append(aloneB, b[k:]...)
}

// alone tells of notches of one side that meet none on the other, once of one that the fold mirrors.
func (j joined) alone(marks []mark, there string) []pattern.Finding {
	var out []pattern.Finding
	for k, m := range marks {
		same := func(o mark) bool { return o.at == m.at && o.in.s == m.in.s }
		if slices.ContainsFunc(marks[:k], same) {
			continue
		}
		r := m.in
		here := ""
		for k, i := range r.edges {
			if k > 0 {
				here += " and "
			}
			here += r.s.p.Name + " " + r.s.p.Edges[i].Name
		}
		message := fmt.Sprintf("the notch %s on %s meets none on %s", m.say, here, there)
		if r.way != free && !slices.ContainsFunc(marks[k+1:], same) {
			message = fmt.Sprintf("the notch %s on %s stands on both sides of the fold, and one of the two meets none on %s", m.say, here, there)
		}
		out = append(out, j.withPlace(r.s.at(pattern.RuleNotchNoPartner, m.at, message,
			"set the notch on both pieces at the same way from the seam's end, or on neither")))
	}
	return out
}
