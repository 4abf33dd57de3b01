package geom

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// box is a closed rectangle.
type box struct{ x0, y0, x1, y1 float64 }

var emptyBox = box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}

func boxOf(a, b orb.Point) box {
	return box{min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1])}
}

func (b box) with(c box) box {
	return box{min(b.x0, c.x0), min(b.y0, c.y0), max(b.x1, c.x1), max(b.y1, c.y1)}
}

// meets tells whether two boxes lie within gap of each other, along x and along y.
func (b box) meets(c box, gap float64) bool {
	return b.x0 <= c.x1+gap && c.x0 <= b.x1+gap && b.y0 <= c.y1+gap && c.y0 <= b.y1+gap
}

// dist2 is the squared distance of a point from the box.
func (b box) dist2(q orb.Point) float64 {
	dx := math.Max(0, math.Max(b.x0-q[0], q[0]-b.x1))
	dy := math.Max(0, math.Max(b.y0-q[1], q[1]-b.y1))
	return dx*dx + dy*dy
}

// leafSize is how many segments one leaf of a tree holds.
const leafSize = 4

// Tree is a binary tree of boxes over segments in their order. Neighbours along a line are neighbours in the plane, so
// no sorting is needed, and unlike a grid it works for a drawing that is dense in one place and empty in another.
type Tree struct {
	Ends  [][2]orb.Point // the segments, each by its two ends in mm
	boxes []box          // a heap: node k has the children 2k+1 and 2k+2
	first int            // the heap place of the first leaf
}

// NewTree builds a tree over segments; it keeps them, and they may not change under it.
func NewTree(ends [][2]orb.Point) *Tree {
	t := &Tree{}
	t.Fill(ends)
	return t
}

// Fill builds the tree again in its old memory.
func (t *Tree) Fill(ends [][2]orb.Point) {
	leaves := 1
	for leaves*leafSize < len(ends) {
		leaves *= 2
	}
	t.Ends, t.first = ends, leaves-1
	t.boxes = slices.Grow(t.boxes[:0], 2*leaves-1)[:2*leaves-1]
	for k := range leaves {
		b := emptyBox
		lo, hi := t.leaf(t.first + k)
		for _, e := range ends[lo:hi] {
			b = b.with(boxOf(e[0], e[1]))
		}
		t.boxes[t.first+k] = b
	}
	for k := t.first - 1; k >= 0; k-- {
		t.boxes[k] = t.boxes[2*k+1].with(t.boxes[2*k+2])
	}
}

// leaf is the range of segments under a leaf.
func (t *Tree) leaf(node int) (lo, hi int) {
	lo = min((node-t.first)*leafSize, len(t.Ends))
	return lo, min(lo+leafSize, len(t.Ends))
}

// SelfPairs calls visit for every pair of segments i < j whose boxes lie within gap mm of each other, until it says
// false; it tells whether all were visited.
func (t *Tree) SelfPairs(gap float64, visit func(i, j int) bool) bool {
	return t.pairsWithin(0, gap, visit)
}

func (t *Tree) pairsWithin(node int, gap float64, visit func(i, j int) bool) bool {
	if node < t.first {
		return t.pairsWithin(2*node+1, gap, visit) && t.pairsWithin(2*node+2, gap, visit) &&
			t.pairsBetween(t, 2*node+1, 2*node+2, gap, visit)
	}
	lo, hi := t.leaf(node)
	for i := lo; i < hi; i++ {
		bi := boxOf(t.Ends[i][0], t.Ends[i][1])
		for j := i + 1; j < hi; j++ {
			if bi.meets(boxOf(t.Ends[j][0], t.Ends[j][1]), gap) && !visit(i, j) {
				return false
			}
		}
	}
	return true
}

// pairsBetween does the same between a node of t and one of o.
func (t *Tree) pairsBetween(o *Tree, a, b int, gap float64, visit func(i, j int) bool) bool {
	if !t.boxes[a].meets(o.boxes[b], gap) {
		return true
	}
	switch {
	case a < t.first && (b >= o.first || a <= b):
		return t.pairsBetween(o, 2*a+1, b, gap, visit) && t.pairsBetween(o, 2*a+2, b, gap, visit)
	case b < o.first:
		return t.pairsBetween(o, a, 2*b+1, gap, visit) && t.pairsBetween(o, a, 2*b+2, gap, visit)
	}
	ilo, ihi := t.leaf(a)
	jlo, jhi := o.leaf(b)
	for i := ilo; i < ihi; i++ {
		bi := boxOf(t.Ends[i][0], t.Ends[i][1])
		if !bi.meets(o.boxes[b], gap) {
			continue
		}
		for j := jlo; j < jhi; j++ {
			if bi.meets(boxOf(o.Ends[j][0], o.Ends[j][1]), gap) && !visit(i, j) {
				return false
			}
		}
	}
	return true
}

// Nearest is the segment closest to q, how far along it 0 to 1, and the squared distance. Equal
// distances go to the lower number.
func (t *Tree) Nearest(q orb.Point) (seg int, at, d2 float64) {
	seg, d2 = -1, math.Inf(1)
	var down func(node int)
	down = func(node int) {
		if t.boxes[node].dist2(q) > d2 {
			return
		}
		if node >= t.first {
			lo, hi := t.leaf(node)
			for i := lo; i < hi; i++ {
				if s, d := SegmentNearest(t.Ends[i][0], t.Ends[i][1], q); d < d2 || (d == d2 && i < seg) {
					seg, at, d2 = i, s, d
				}
			}
			return
		}
		l, r := 2*node+1, 2*node+2
		if t.boxes[r].dist2(q) < t.boxes[l].dist2(q) {
			l, r = r, l
		}
		down(l)
		down(r)
	}
	down(0)
	return seg, at, d2
}

// SegmentNearest is the place on a segment nearest to q, 0 to 1, and its squared distance.
func SegmentNearest(a, b, q orb.Point) (t, d2 float64) {
	u, w := Sub(b, a), Sub(q, a)
	if l2 := Dot(u, u); l2 > 0 {
		t = math.Max(0, math.Min(1, Dot(w, u)/l2))
	}
	d := Sub(w, Mul(u, t))
	return t, Dot(d, d)
}

// segments lists a path's stretches by their ends.
func (p Path) segments() [][2]orb.Point {
	ends := make([][2]orb.Point, p.Segments())
	for i := range ends {
		ends[i][0], ends[i][1] = p.Segment(i)
	}
	return ends
}
