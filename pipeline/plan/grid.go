package plan

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// grid finds ends that are close, by squares of equal size with about two ends each.
type grid struct {
	low     orb.Point
	cell    float64
	w, h    int
	buckets [][]int32
	ends    []orb.Point
}

func newGrid(ends []orb.Point, free int32) *grid {
	b := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	for i, p := range ends {
		if int32(i) != free {
			b = b.Extend(p)
		}
	}
	g := &grid{low: b.Min, ends: ends}
	dx, dy := b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]
	g.cell = math.Max(math.Sqrt(dx*dy*2/float64(len(ends))), math.Max(dx, dy)/float64(len(ends)))
	g.w, g.h = 1, 1 // all ends in one place, or coordinates that are not finite
	if g.cell > 0 && !math.IsInf(g.cell, 0) {
		g.w, g.h = int(dx/g.cell)+1, int(dy/g.cell)+1
	}
	g.buckets = make([][]int32, g.w*g.h)
	for i, p := range ends {
		if int32(i) != free {
			k := g.at(p)
			g.buckets[k] = append(g.buckets[k], int32(i))
		}
	}
	return g
}

func (g *grid) at(p orb.Point) int {
	x, y := g.column(p)
	return y*g.w + x
}

func (g *grid) column(p orb.Point) (x, y int) {
	if g.w*g.h == 1 {
		return 0, 0
	}
	x = min(max(int((p[0]-g.low[0])/g.cell), 0), g.w-1)
	y = min(max(int((p[1]-g.low[1])/g.cell), 0), g.h-1)
	return x, y
}

// ring calls visit with the buckets of the square ring r squares away, and tells whether there are any.
func (g *grid) ring(x, y, r int, visit func(bucket []int32)) bool {
	some := false
	for v := max(0, y-r); v <= min(g.h-1, y+r); v++ {
		step := 2 * r
		if v == y-r || v == y+r || r == 0 {
			step = 1
		}
		for u := x - r; u <= x+r; u += step {
			if u >= 0 && u < g.w {
				some = true
				visit(g.buckets[v*g.w+u])
			}
		}
	}
	return some
}

// reach is the distance from p within which everything has been seen after rings 0 to r.
func (g *grid) reach(p orb.Point, x, y, r int) float64 {
	left := p[0] - (g.low[0] + float64(x-r)*g.cell)
	right := g.low[0] + float64(x+r+1)*g.cell - p[0]
	down := p[1] - (g.low[1] + float64(y-r)*g.cell)
	up := g.low[1] + float64(y+r+1)*g.cell - p[1]
	return math.Min(math.Min(left, right), math.Min(down, up))
}

// nearest is the end closest to p that is left in the grid; ties go to the lower number.
func (g *grid) nearest(p orb.Point) int32 {
	x, y := g.column(p)
	best, d := int32(-1), math.Inf(1)
	for r := 0; ; r++ {
		some := g.ring(x, y, r, func(bucket []int32) {
			for _, e := range bucket {
				if v := geom.Dist(p, g.ends[e]); v < d || v == d && e < best {
					best, d = e, v
				}
			}
		})
		if !some && r > max(g.w, g.h) || best >= 0 && d <= g.reach(p, x, y, r) {
			return best
		}
	}
}

// remove takes an end out.
func (g *grid) remove(e int32) {
	k := g.at(g.ends[e])
	b := g.buckets[k]
	i := slices.Index(b, e)
	b[i] = b[len(b)-1]
	g.buckets[k] = b[:len(b)-1]
}

// neighbour is an item and how far its nearer end is.
type neighbour struct {
	d    float64
	item int32
}

// nearItems lists for each end the k items whose ends are nearest to it, other than its own, nearest
// first.
func nearItems(ends []orb.Point, free int32, k int) [][]neighbour {
	g := newGrid(ends, free)
	out := make([][]neighbour, len(ends))
	var list []neighbour
	for e, p := range ends {
		switch {
		case int32(e) == free:
			continue
		case e&1 == 1 && ends[e-1] == p && int32(e-1) != free:
			out[e] = out[e-1]
			continue
		}
		list = g.around(int32(e), 2*k, list[:0])
		for _, f := range list {
			if len(out[e]) == k {
				break
			}
			if !slices.ContainsFunc(out[e], func(o neighbour) bool { return o.item == f.item }) {
				out[e] = append(out[e], f)
			}
		}
	}
	return out
}

// around lists the n ends nearest to end e in order, those of its own item left out. list is reused.
func (g *grid) around(e int32, n int, list []neighbour) []neighbour {
	p := g.ends[e]
	x, y := g.column(p)
	for r := 0; r <= max(g.w, g.h); r++ {
		g.ring(x, y, r, func(bucket []int32) {
			for _, o := range bucket {
				if o>>1 != e>>1 {
					list = insert(list, neighbour{geom.Dist(p, g.ends[o]), o >> 1}, n)
				}
			}
		})
		if len(list) == n && list[n-1].d <= g.reach(p, x, y, r) {
			break
		}
	}
	return list
}

// insert keeps the n nearest in order; ties go to the lower number.
func insert(list []neighbour, v neighbour, n int) []neighbour {
	if len(list) == n {
		if v.d > list[n-1].d {
			return list
		}
		list = list[:n-1]
	}
	list = append(list, v)
	for i := len(list) - 1; i > 0; i-- {
		if a := list[i-1]; a.d < list[i].d || a.d == list[i].d && a.item <= list[i].item {
			break
		}
		list[i-1], list[i] = list[i], list[i-1]
	}
	return list
}

// greedy goes from the start always to the nearest end left, and gives the order of items and which
// are entered by their second end. The item `skip`, if any, is left out.
func greedy(ends []orb.Point, start orb.Point, skip int32) (order []int32, flip []bool) {
	n := len(ends) / 2
	flip = make([]bool, n)
	g := newGrid(ends, -1)
	if skip >= 0 {
		g.remove(2 * skip)
		g.remove(2*skip + 1)
	}
	at := start
	for {
		e := g.nearest(at)
		if e < 0 {
			return order, flip
		}
		g.remove(e)
		g.remove(e ^ 1)
		order = append(order, e>>1)
		flip[e>>1] = e&1 == 1
		at = ends[e^1]
	}
}
