package offset

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// sortNodes lists the chain ends at each node counter-clockwise from the left.
func (g *graph) sortNodes() {
	count := make([]int32, len(g.nodes)+1)
	for _, c := range g.chains {
		if c.cover == 0 && c.block == 0 {
			continue
		}
		count[c.a+1]++
		count[c.b+1]++
	}
	for i := range len(g.nodes) {
		count[i+1] += count[i]
	}
	g.first = count
	total := int(count[len(g.nodes)])
	g.halves = slices.Grow(g.halves, total)[:total]
	fill := slices.Clone(count)
	put := func(node int32, h half, to orb.Point) {
		d := geom.Sub(to, g.nodes[node])
		h.angle = math.Atan2(d[1], d[0])
		if h.angle == math.Pi {
			h.angle = -math.Pi
		}
		g.halves[fill[node]] = h
		fill[node]++
	}
	for k, c := range g.chains {
		if c.cover == 0 && c.block == 0 {
			continue
		}
		head, tail := g.nodes[c.b], g.nodes[c.a]
		if c.count > 0 {
			head, tail = g.raw.pts[c.lo], g.raw.pts[g.inner(c, c.count-1)]
		}
		put(c.a, half{chain: int32(k)}, head)
		put(c.b, half{chain: int32(k), back: true}, tail)
	}
	for n := range g.nodes {
		slices.SortFunc(g.at(int32(n)), func(a, b half) int {
			return cmp.Or(cmp.Compare(a.angle, b.angle), cmp.Compare(a.chain, b.chain))
		})
	}
}

func (g *graph) at(node int32) []half { return g.halves[g.first[node]:g.first[node+1]] }

// inner is the raw point number k inside a chain.
func (g *graph) inner(c chain, k int32) int32 {
	for _, l := range g.raw.loops {
		if int(c.lo) < l.hi {
			i := int(c.lo) + int(k)
			if i >= l.hi {
				i -= l.hi - l.lo
			}
			return int32(i)
		}
	}
	return c.lo
}

// wind gives every chain the winding numbers on both sides; false where they do not agree.
func (g *graph) wind() bool {
	order := make([]int32, len(g.nodes))
	for i := range order {
		order[i] = int32(i)
	}
	// The leftmost node of a part of the graph is met before all others of it, and its left lies
	// outside that part.
	slices.SortFunc(order, func(a, b int32) int {
		p, q := g.nodes[a], g.nodes[b]
		return cmp.Or(cmp.Compare(p[0], q[0]), cmp.Compare(p[1], q[1]))
	})
	done := make([]bool, len(g.nodes))
	parts := 0
	for _, n := range order {
		if done[n] || len(g.at(n)) == 0 {
			continue
		}
		var outside [2]int32
		if parts > 0 {
			outside = g.around(n)
		}
		parts++
		if !g.spread(n, outside, done) {
			return false
		}
	}
	return true
}

// spread carries the numbers from a node whose left is known through everything joined to it.
func (g *graph) spread(n int32, left [2]int32, done []bool) bool {
	done[n] = true
	queue := []int32{n}
	if !g.round(n, 0, left) {
		return false
	}
	for len(queue) > 0 {
		n, queue = queue[len(queue)-1], queue[:len(queue)-1]
		for _, h := range g.at(n) {
			c := &g.chains[h.chain]
			to := c.b
			if h.back {
				to = c.a
			}
			if done[to] {
				continue
			}
			done[to] = true
			queue = append(queue, to)
			// Find the other end and go round from there.
			for k, o := range g.at(to) {
				if o.chain == h.chain && o.back != h.back {
					before := c.right
					if o.back {
						before = c.left
					}
					if !g.round(to, k, before) {
						return false
					}
					break
				}
			}
		}
	}
	return true
}

// round goes counter-clockwise round a node from its chain end k, before which the numbers are
// known.
func (g *graph) round(n int32, k int, before [2]int32) bool {
	hs := g.at(n)
	now := before
	for i := range hs {
		h := hs[(k+i)%len(hs)]
		c := &g.chains[h.chain]
		was := now
		if h.back {
			now[0], now[1] = now[0]-c.cover, now[1]-c.block
		} else {
			now[0], now[1] = now[0]+c.cover, now[1]+c.block
		}
		left, right := now, was
		if h.back {
			left, right = was, now
		}
		if c.known && (c.left != left || c.right != right) {
			return false
		}
		c.left, c.right, c.known = left, right, true
	}
	return now == before
}

// around is the winding number just left of a node that no chain joins to those already known.
func (g *graph) around(n int32) (w [2]int32) {
	q := g.nodes[n]
	for _, l := range g.raw.loops {
		for k := l.lo; k < l.hi; k++ {
			a, b := g.raw.pts[k], g.raw.pts[g.succ[k]]
			if (a[1] <= q[1]) == (b[1] <= q[1]) {
				continue
			}
			if a[0]+(q[1]-a[1])*(b[0]-a[0])/(b[1]-a[1]) > q[0]-g.weld {
				continue
			}
			sign := int32(-1)
			if a[1] > b[1] {
				sign = 1
			}
			if l.block {
				w[1] += sign
			} else {
				w[0] += sign
			}
		}
	}
	return w
}

func (g *graph) inside(w [2]int32) bool {
	if g.inward {
		return w[0] <= -1 && w[1] <= 0
	}
	return w[0] >= 1 && w[1] <= 0
}

// outlined is a point of the result while it is traced. from is of the segment that begins here.
type outlined struct {
	p      orb.Point
	node   int32 // -1 inside a chain
	from   int32
	corner bool
}

// trace joins the chains with inside on one side only into rings, inside on the left, and splits
// them where they touch themselves.
func (g *graph) trace() (rings []Ring, ok bool) {
	for k := range g.chains {
		c := &g.chains[k]
		if c.used || !c.known || g.inside(c.left) == g.inside(c.right) {
			continue
		}
		var line []outlined
		at, back := int32(k), !g.inside(c.left)
		for {
			c := &g.chains[at]
			if c.used {
				return nil, false
			}
			c.used = true
			line = g.walk(line, at, back)
			end := c.b
			if back {
				end = c.a
			}
			at, back, ok = g.turnAt(end, at, back)
			if !ok {
				return nil, false
			}
			if at == int32(k) {
				break
			}
		}
		rings = append(rings, splitRing(line)...)
	}
	return rings, true
}

// walk appends a chain's points, all but the last node.
func (g *graph) walk(line []outlined, at int32, back bool) []outlined {
	c := g.chains[at]
	r := &g.raw
	if !back {
		line = append(line, outlined{g.nodes[c.a], c.a, r.from[c.seg], true})
		for k := range c.count {
			i := g.inner(c, k)
			line = append(line, outlined{r.pts[i], -1, r.from[i], !r.smooth[i]})
		}
		return line
	}
	last := c.seg
	if c.count > 0 {
		last = g.inner(c, c.count-1)
	}
	line = append(line, outlined{g.nodes[c.b], c.b, r.from[last], true})
	for k := c.count - 1; k >= 0; k-- {
		i, prev := g.inner(c, k), c.seg
		if k > 0 {
			prev = g.inner(c, k-1)
		}
		line = append(line, outlined{r.pts[i], -1, r.from[prev], !r.smooth[i]})
	}
	return line
}

// turnAt chooses the chain on which to leave a node: the first clockwise from the one that came,
// so that the inside between them is one piece.
func (g *graph) turnAt(node, chain int32, back bool) (int32, bool, bool) {
	hs := g.at(node)
	for k, h := range hs {
		if h.chain != chain || h.back == back {
			continue
		}
		for i := 1; i <= len(hs); i++ {
			o := hs[(k-i+2*len(hs))%len(hs)]
			c := &g.chains[o.chain]
			l, r := g.inside(c.left), g.inside(c.right)
			if l != r && l == !o.back {
				return o.chain, o.back, true
			}
		}
	}
	return 0, false, false
}

// splitRing takes a line apart at nodes it comes through twice.
func splitRing(line []outlined) []Ring {
	var rings []Ring
	seen := map[int32]int{}
	var stack []outlined
	for _, o := range line {
		if o.node >= 0 {
			if k, ok := seen[o.node]; ok {
				for _, s := range stack[k:] {
					if s.node >= 0 {
						delete(seen, s.node)
					}
				}
				rings = addRing(rings, stack[k:])
				stack = stack[:k]
			}
			seen[o.node] = len(stack)
		}
		stack = append(stack, o)
	}
	return addRing(rings, stack)
}

// sliver is the mean width in mm below which a ring is rounding.
const sliver = 1e-5

func addRing(rings []Ring, line []outlined) []Ring {
	if len(line) < 3 {
		return rings
	}
	ring := Ring{
		Path: geom.Path{Points: make([]orb.Point, len(line)), Corners: make([]bool, len(line)), Closed: true},
		Edge: make([]int, len(line)),
	}
	for k, o := range line {
		ring.Path.Points[k], ring.Path.Corners[k], ring.Edge[k] = o.p, o.corner, int(o.from)
	}
	area := ring.Path.SignedArea()
	if math.Abs(area) <= sliver*ring.Path.Length() {
		return rings
	}
	ring.Hole = area < 0
	return append(rings, ring)
}

// wholeLoop is the result where the raw line meets itself nowhere.
func (g *graph) wholeLoop() []Ring {
	line := geom.Path{Points: g.raw.pts, Closed: true}
	area := line.SignedArea()
	if g.inward {
		area = -area
	}
	if area <= sliver*line.Length() {
		return nil
	}
	n := len(g.raw.pts)
	ring := Ring{
		Path: geom.Path{Points: slices.Clone(g.raw.pts), Corners: make([]bool, n), Closed: true},
		Edge: make([]int, n),
	}
	for k := range n {
		ring.Path.Corners[k], ring.Edge[k] = !g.raw.smooth[k], int(g.raw.from[k])
	}
	if g.inward {
		ring.reverse()
	}
	return []Ring{ring}
}
