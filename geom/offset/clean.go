package offset

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// cleanRaw keeps, of a raw line, what bounds the places covered at least once and not blocked;
// inward, the places enclosed and covered by no strip. It cuts the line at everything it has in
// common with itself into chains between nodes, carries winding numbers from node to node, and
// traces the chains that divide inside from outside. Points nearer than weld are one. ok is false
// where rounding made the numbers contradict each other.
// g lends its memory.
func cleanRaw(r *rawLine, g *graph, weld float64, inward bool) (rings []Ring, ok bool) {
	g.reset(weld, inward)
	r.weldInto(&g.raw, weld)
	if len(g.raw.loops) == 0 {
		return nil, true
	}
	g.findCuts()
	if len(g.cuts) == 0 && len(g.raw.loops) == 1 {
		return g.wholeLoop(), true
	}
	g.makeChains()
	g.sortNodes()
	if !g.wind() {
		return nil, false
	}
	return g.trace()
}

// weldInto copies the line without points nearer than weld to the one before.
func (r *rawLine) weldInto(q *rawLine, weld float64) {
	q.reset()
	for _, l := range r.loops {
		lo := len(q.pts)
		for k := l.lo; k < l.hi; k++ {
			if n := len(q.pts); n > lo && near(q.pts[n-1], r.pts[k], weld) {
				q.from[n-1] = r.from[k]
				continue
			}
			q.pts = append(q.pts, r.pts[k])
			q.from = append(q.from, r.from[k])
			q.smooth = append(q.smooth, r.smooth[k])
		}
		for n := len(q.pts); n > lo+1 && near(q.pts[n-1], q.pts[lo], weld); n = len(q.pts) {
			q.pts, q.from, q.smooth = q.pts[:n-1], q.from[:n-1], q.smooth[:n-1]
		}
		if n := len(q.pts); n-lo < 3 {
			q.pts, q.from, q.smooth = q.pts[:lo], q.from[:lo], q.smooth[:lo]
			continue
		}
		q.loops = append(q.loops, rawLoop{lo, len(q.pts), l.block})
	}
}

func near(a, b orb.Point, d float64) bool {
	x, y := a[0]-b[0], a[1]-b[1]
	return x*x+y*y <= d*d
}

// cut is a node on segment seg, t of the way along.
type cut struct {
	seg  int32
	node int32
	t    float64
}

// graph is a raw line cut into chains.
type graph struct {
	raw    rawLine
	weld   float64
	inward bool

	succ   []int32 // the point after each within its loop
	nodes  []orb.Point
	cells  map[[2]int64]int32
	cuts   []cut
	chains []chain
	halves []half // of all nodes one after the other
	first  []int32
	tree   geom.Tree
}

func (g *graph) reset(weld float64, inward bool) {
	g.weld, g.inward = weld, inward
	g.succ, g.nodes, g.cuts = g.succ[:0], g.nodes[:0], g.cuts[:0]
	g.chains, g.halves, g.first = g.chains[:0], g.halves[:0], g.first[:0]
	if g.cells == nil {
		g.cells = map[[2]int64]int32{}
	}
	clear(g.cells)
}

// chain is a stretch of the raw line between two nodes without anything between.
type chain struct {
	a, b         int32 // nodes
	lo, count    int32 // the raw points inside: lo, then on through succ
	seg          int32 // the segment it begins on
	cover, block int32 // what its left has over its right; 0 and 0: dropped
	left, right  [2]int32
	known        bool
	used         bool
}

// half is a chain's end at a node.
type half struct {
	chain int32
	back  bool // the chain ends here
	angle float64
}

// findCuts lists every place where the raw line meets itself.
func (g *graph) findCuts() {
	r := &g.raw
	ends := g.tree.Ends[:0]
	for _, l := range r.loops {
		for k := l.lo; k < l.hi; k++ {
			n := r.next(k, l)
			g.succ = append(g.succ, int32(n))
			ends = append(ends, [2]orb.Point{r.pts[k], r.pts[n]})
		}
	}
	g.tree.Fill(ends)
	g.tree.SelfPairs(0, func(i, j int) bool {
		g.meet(int32(i), int32(j))
		return true
	})
}

// meet cuts two segments where they have something in common, i < j.
func (g *graph) meet(i, j int32) {
	p := g.raw.pts
	a0, a1, b0, b1 := p[i], p[g.succ[i]], p[j], p[g.succ[j]]
	u, v := geom.Sub(a1, a0), geom.Sub(b1, b0)
	if g.succ[i] == j || g.succ[j] == i {
		if g.succ[i] == j && g.succ[j] == i {
			return
		}
		if geom.Dot(u, v) >= 0 {
			return
		}
		g.meetNext(i, j)
		return
	}
	w := geom.Sub(b0, a0)
	o1, o3 := geom.Cross(u, w), -geom.Cross(v, w)
	o2, o4 := o1+geom.Cross(u, v), geom.Cross(v, geom.Sub(a1, b0))
	eu, ev := g.weld*geom.Norm(u), g.weld*geom.Norm(v)
	if o1 > eu && o2 > eu || o1 < -eu && o2 < -eu || o3 > ev && o4 > ev || o3 < -ev && o4 < -ev {
		return
	}
	clear := math.Abs(o1) > eu && math.Abs(o2) > eu && math.Abs(o3) > ev && math.Abs(o4) > ev
	if !clear {
		touched := g.touch(i, j)
		touched = g.touch(g.succ[i], j) || touched
		touched = g.touch(j, i) || touched
		touched = g.touch(g.succ[j], i) || touched
		if touched {
			return
		}
		if (o1 > 0) == (o2 > 0) || (o3 > 0) == (o4 > 0) {
			return
		}
	}
	s, t := o3/(o3-o4), o1/(o1-o2)
	node := g.node(geom.Lerp(a0, a1, s))
	g.cuts = append(g.cuts, cut{i, node, s}, cut{j, node, t})
}

// meetNext handles neighbours of which one turns back onto the other.
func (g *graph) meetNext(i, j int32) {
	if g.succ[j] == i {
		i, j = j, i
	}
	back := g.touch(i, j)
	back = g.touch(g.succ[j], i) || back
	if back {
		g.cuts = append(g.cuts, cut{j, g.node(g.raw.pts[j]), 0})
	}
}

// touch cuts segment s, and the line at vertex v, where v lies on s.
func (g *graph) touch(v, s int32) bool {
	p := g.raw.pts
	t, d2 := geom.SegmentNearest(p[s], p[g.succ[s]], p[v])
	if d2 > g.weld*g.weld {
		return false
	}
	node := g.node(p[v])
	g.cuts = append(g.cuts, cut{v, node, 0})
	switch {
	case near(p[v], p[s], g.weld):
		g.cuts = append(g.cuts, cut{s, node, 0})
	case near(p[v], p[g.succ[s]], g.weld):
		g.cuts = append(g.cuts, cut{g.succ[s], node, 0})
	default:
		g.cuts = append(g.cuts, cut{s, node, t})
	}
	return true
}

// node is the node within weld of p, or a new one.
func (g *graph) node(p orb.Point) int32 {
	size := 8 * g.weld
	fx, fy := p[0]/size, p[1]/size
	cx, cy := math.Floor(fx), math.Floor(fy)
	x0, x1 := reach(fx - cx)
	y0, y1 := reach(fy - cy)
	for x := x0; x <= x1; x++ {
		for y := y0; y <= y1; y++ {
			if k, ok := g.cells[[2]int64{int64(cx) + x, int64(cy) + y}]; ok {
				for ; k >= 0; k = g.chainOf(k) {
					if near(g.nodes[k], p, g.weld) {
						return k
					}
				}
			}
		}
	}
	k := int32(len(g.nodes))
	g.nodes = append(g.nodes, p)
	key := [2]int64{int64(cx), int64(cy)}
	if old, ok := g.cells[key]; ok {
		g.first = append(g.first, old)
	} else {
		g.first = append(g.first, -1)
	}
	g.cells[key] = k
	return k
}

// chainOf is the next node in the same cell; first serves for this until the nodes are sorted.
func (g *graph) chainOf(k int32) int32 { return g.first[k] }

// reach tells which neighbouring cells a point within an eighth of the border must look into.
func reach(f float64) (lo, hi int64) {
	if f < 0.126 {
		lo = -1
	}
	if f > 0.874 {
		hi = 1
	}
	return lo, hi
}

// makeChains gives every loop a node at its leftmost point and cuts the loops.
func (g *graph) makeChains() {
	for _, l := range g.raw.loops {
		k := l.lo
		for m := l.lo + 1; m < l.hi; m++ {
			if before(g.raw.pts[m], g.raw.pts[k]) {
				k = m
			}
		}
		g.cuts = append(g.cuts, cut{int32(k), g.node(g.raw.pts[k]), 0})
	}
	slices.SortFunc(g.cuts, func(a, b cut) int {
		return cmp.Or(cmp.Compare(a.seg, b.seg), cmp.Compare(a.t, b.t), cmp.Compare(a.node, b.node))
	})
	straight := map[[2]int32]int32{}
	at := 0
	for _, l := range g.raw.loops {
		lo := at
		for at < len(g.cuts) && int(g.cuts[at].seg) < l.hi {
			at++
		}
		loop := g.cuts[lo:at]
		for k, c := range loop {
			g.addChain(c, loop[(k+1)%len(loop)], k+1 == len(loop), l, straight)
		}
	}
}

func before(a, b orb.Point) bool { return a[0] < b[0] || a[0] == b[0] && a[1] < b[1] }

func (g *graph) addChain(c, d cut, wraps bool, l rawLoop, straight map[[2]int32]int32) {
	ch := chain{a: c.node, b: d.node, seg: c.seg, lo: g.succ[c.seg], cover: 1}
	if l.block {
		ch.cover, ch.block = 0, 1
	}
	ch.count = d.seg - c.seg
	if wraps {
		ch.count += int32(l.hi - l.lo)
	}
	if d.t == 0 && ch.count > 0 {
		ch.count-- // its last point is the node
	}
	if ch.count > 0 {
		g.chains = append(g.chains, ch)
		return
	}
	if ch.a == ch.b {
		return
	}
	key, sign := [2]int32{ch.a, ch.b}, int32(1)
	if ch.a > ch.b {
		key, sign = [2]int32{ch.b, ch.a}, -1
	}
	k, ok := straight[key]
	if !ok {
		straight[key] = int32(len(g.chains))
		g.chains = append(g.chains, ch)
		return
	}
	old := &g.chains[k]
	if old.a != key[0] {
		sign = -sign
	}
	old.cover += sign * ch.cover
	old.block += sign * ch.block
	if old.cover*sign < 0 || g.raw.from[old.seg] < 0 {
		old.seg = ch.seg // the label of the one that runs the way the sum does
	}
}
