package plan

import (
	"math"
	"math/rand/v2"

	"github.com/paulmach/orb"
)

// tour is a closed tour through items with two ends each: the ends of an open stroke, or twice the same place. Travel
// runs from the out end of one item to the in end of the next. Reversing a stretch of the tour reverses its items, so
// that the travel inside the stretch stays the same. Ends are numbered 2*item and 2*item+1.
//
// The tour is improved by 2-opt and Or-opt moves with neighbour lists and don't-look bits (Bentley, "Fast algorithms
// for geometric traveling salesman problems", ORSA Journal on Computing 4(4), 1992), then by random kicks: two
// neighbouring stretches change places, the neighbourhood is improved again, and the result is undone unless it is
// shorter (Johnson and McGeoch, "The traveling salesman problem: a case study in local optimization", in Aarts and
// Lenstra, 1997). Work is bounded by moves, not by time, and all randomness comes from one seed: the same input gives
// the same tour.
type tour struct {
	ends  []orb.Point
	n     int
	free  int32 // an end at distance 0 from all others, -1 for none: a path may end there
	order []int32
	pos   []int32
	flip  []bool
	near  [][]neighbour // for each end, the items near it, nearest first
	queue []int32
	in    []bool // whether an item is in the queue
	log   []span // reversals since the last kick
	keep  bool   // whether to write log
}

// span is a stretch of positions, both ends included, that may wrap round the end of the slice.
type span struct{ i, j int32 }

// gainTol is the least gain in mm that counts, so that rounding errors cause no endless loop.
const gainTol = 1e-9

// neighbours is how many near items are tried for each end.
const neighbours = 8

// newTour starts with the tour that visits the items in the given order.
func newTour(ends []orb.Point, free int32, order []int32, flip []bool) *tour {
	n := len(order)
	t := &tour{ends: ends, n: n, free: free, order: order, flip: flip,
		pos: make([]int32, n), in: make([]bool, n), queue: make([]int32, 0, n)}
	for p, item := range order {
		t.pos[item] = int32(p)
	}
	t.near = nearItems(ends, free, neighbours)
	return t
}

func (t *tour) dist(a, b int32) float64 {
	if a == t.free || b == t.free {
		return 0
	}
	dx, dy := t.ends[a][0]-t.ends[b][0], t.ends[a][1]-t.ends[b][1]
	return math.Sqrt(dx*dx + dy*dy)
}

// inEnd and outEnd are the ends by which the item at a position is entered and left.
func (t *tour) inEnd(p int32) int32 {
	item := t.order[p]
	if t.flip[item] {
		return 2*item + 1
	}
	return 2 * item
}

func (t *tour) outEnd(p int32) int32 { return t.inEnd(p) ^ 1 }

func (t *tour) next(p int32) int32 {
	if p++; int(p) == t.n {
		return 0
	}
	return p
}

func (t *tour) prev(p int32) int32 {
	if p == 0 {
		return int32(t.n - 1)
	}
	return p - 1
}

func (t *tour) wrap(p int) int32 { return int32((p%t.n + t.n) % t.n) }

// count is the number of positions from i to j, both included.
func (t *tour) count(i, j int32) int {
	if d := int(j - i); d >= 0 {
		return d + 1
	}
	return int(j-i) + t.n + 1
}

// reverse reverses the stretch from i to j. Where the rest of the tour is clearly shorter the rest is reversed
// instead, which gives the same tour in the other direction.
func (t *tour) reverse(i, j int32) {
	if 2*t.count(i, j) > t.n+4 {
		if t.count(i, j) == t.n {
			return
		}
		i, j = t.next(j), t.prev(i)
	}
	if t.keep {
		t.log = append(t.log, span{i, j})
	}
	t.swapRun(i, j)
}

func (t *tour) swapRun(i, j int32) {
	for k := t.count(i, j) / 2; k > 0; k-- {
		a, b := t.order[i], t.order[j]
		t.order[i], t.order[j] = b, a
		t.pos[a], t.pos[b] = j, i
		t.flip[a], t.flip[b] = !t.flip[a], !t.flip[b]
		i, j = t.next(i), t.prev(j)
	}
	if i == j {
		t.flip[t.order[i]] = !t.flip[t.order[i]]
	}
}

// undo takes back all reversals of the log.
func (t *tour) undo() {
	for k := len(t.log) - 1; k >= 0; k-- {
		t.swapRun(t.log[k].i, t.log[k].j)
	}
}

// push queues the items at positions to be improved again.
func (t *tour) push(ps ...int32) {
	for _, p := range ps {
		if item := t.order[p]; !t.in[item] {
			t.in[item] = true
			t.queue = append(t.queue, item)
		}
	}
}

// settle improves until no queued item can be improved, and gives the gain.
func (t *tour) settle() float64 {
	var gain float64
	for head := 0; head < len(t.queue); head++ {
		item := t.queue[head]
		t.in[item] = false
		for {
			g := t.improve(item)
			if g <= 0 {
				break
			}
			gain += g
		}
	}
	t.queue = t.queue[:0]
	return gain
}

// descend improves the tour from every item.
func (t *tour) descend() {
	for p := range int32(t.n) {
		t.push(p)
	}
	t.settle()
}

// maxKick is the longest stretch that a kick moves.
const maxKick = 50

// kick exchanges two neighbouring stretches n times, and keeps what shortens the tour.
func (t *tour) kick(times int, seed uint64) {
	if t.n < 8 {
		return
	}
	rnd := rand.New(rand.NewPCG(seed, uint64(t.n)))
	t.keep = true
	reach := min(maxKick, t.n/4)
	for range times {
		t.log = t.log[:0]
		p := int32(rnd.IntN(t.n))
		a, b := 1+rnd.IntN(reach), 1+rnd.IntN(reach)
		a0, a1 := t.next(p), t.wrap(int(p)+a)
		b0, b1 := t.next(a1), t.wrap(int(p)+a+b)
		end := t.next(b1)
		before := t.dist(t.outEnd(p), t.inEnd(a0)) + t.dist(t.outEnd(a1), t.inEnd(b0)) + t.dist(t.outEnd(b1), t.inEnd(end))
		t.reverse(a0, b1)
		t.reverse(a0, t.wrap(int(p)+b))
		t.reverse(t.wrap(int(p)+b+1), b1)
		mid := t.wrap(int(p) + b)
		after := t.dist(t.outEnd(p), t.inEnd(a0)) + t.dist(t.outEnd(mid), t.inEnd(t.next(mid))) + t.dist(t.outEnd(b1), t.inEnd(end))
		t.push(p, a0, mid, t.next(mid), b1, end)
		if gain := before - after + t.settle(); gain < 0 {
			t.undo()
		}
	}
	t.keep = false
}
