package plan

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// seed is the seed of the random kicks. It is a constant so that the same input gives the same bytes.
const seed = 52

// kicksFor bounds the work on n items: enough for a good order, in a fraction of a second at most.
func kicksFor(n, effort int) int {
	effort = cmp.Or(effort, defaultEffort)
	return min(max(2000, 2*n), 20000) * effort / defaultEffort
}

// defaultEffort is the middle of the range of Options.Effort.
const defaultEffort = 10

// visit is one item of a path and whether it is entered by its second end.
type visit struct {
	item   int
	turned bool
}

// path gives a short way from start through all items, each given by its two ends. The end of the way is free. With
// given the search starts from the order of items, else from always the nearest next.
func path(items [][2]orb.Point, start orb.Point, kicks int, given bool) []visit {
	n := len(items)
	if n <= maxExact {
		return exact(items, start)
	}
	ends := make([]orb.Point, 0, 2*n+2)
	for _, it := range items {
		ends = append(ends, it[0], it[1])
	}
	// The start is one more item: its first end is free, its second is the start.
	own := int32(n)
	ends = append(ends, start, start)
	order, flip := make([]int32, n, n+1), make([]bool, n+1)
	if given {
		for i := range order {
			order[i] = int32(i)
		}
	} else {
		order, flip = greedy(ends, start, own)
	}
	t := newTour(ends, 2*own, append(order, own), flip)
	t.descend()
	t.kick(kicks, seed)
	return t.fromOwn(own)
}

// fromOwn reads the round from the start's item on, in the direction in which it leaves by the start.
func (t *tour) fromOwn(own int32) []visit {
	out := make([]visit, 0, t.n-1)
	p := t.pos[own]
	for k := 1; k < t.n; k++ {
		item := t.order[t.wrap(int(p)+k)]
		out = append(out, visit{int(item), t.flip[item]})
	}
	if t.flip[own] {
		slices.Reverse(out)
		for i := range out {
			out[i].turned = !out[i].turned
		}
	}
	return out
}

// maxExact is the greatest number of items for which the shortest way is computed exactly.
const maxExact = 8

// exact is the shortest way, by dynamic programming over sets of visited items and the last end (Held and Karp, 1962).
func exact(items [][2]orb.Point, start orb.Point) []visit {
	n := len(items)
	if n == 0 {
		return nil
	}
	states := 2 * n // item, and whether it was reversed
	best := make([]float64, states<<n)
	from := make([]int8, states<<n)
	for i := range best {
		best[i] = math.Inf(1)
	}
	for set := range 1 << n {
		for s := range states {
			if set&(1<<(s/2)) == 0 {
				continue
			}
			in, rest := items[s/2][s%2], set&^(1<<(s/2))
			at := set*states + s
			if rest == 0 {
				best[at], from[at] = geom.Dist(start, in), -1
				continue
			}
			for r := range states {
				if d := best[rest*states+r] + geom.Dist(items[r/2][1-r%2], in); d < best[at] {
					best[at], from[at] = d, int8(r)
				}
			}
		}
	}
	set, s := 1<<n-1, 0
	for r := range states {
		if best[set*states+r] < best[set*states+s] {
			s = r
		}
	}
	out := make([]visit, n)
	for k := n - 1; k >= 0; k-- {
		out[k] = visit{s / 2, s%2 == 1}
		set, s = set&^(1<<(s/2)), int(from[set*states+s])
	}
	return out
}
