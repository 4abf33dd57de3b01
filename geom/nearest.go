package geom

import (
	"math"

	"github.com/paulmach/orb"
)

// Near is the place on a path nearest to some point.
type Near struct {
	Point   orb.Point // on the path
	Dist    float64   // mm
	Segment int       // which stretch, see Path.Segment
	T       float64   // how far along that stretch, 0 to 1
	S       float64   // length along the path in mm
}

// Nearest examines every segment of the path; for many points make an Index. Of equal distances the first along the
// path counts. A path of one point has that point; an empty one gives Dist +Inf.
func (p Path) Nearest(q orb.Point) Near {
	best := Near{Dist: math.Inf(1)}
	if len(p.Points) == 1 {
		return Near{Point: p.Points[0], Dist: Dist(p.Points[0], q)}
	}
	d2 := math.Inf(1)
	for i := range p.Segments() {
		a, b := p.Segment(i)
		if t, d := SegmentNearest(a, b, q); d < d2 {
			d2, best.Segment, best.T = d, i, t
		}
	}
	if math.IsInf(d2, 1) {
		return best
	}
	for i := range best.Segment {
		best.S += Dist(p.Segment(i))
	}
	a, b := p.Segment(best.Segment)
	best.S += best.T * Dist(a, b)
	best.Point = Lerp(a, b, best.T)
	best.Dist = Dist(best.Point, q)
	return best
}

// Index finds the nearest place on many paths without looking at each of them.
type Index struct {
	tree   *Tree
	path   []int // of each segment
	local  []int // its number within its path
	starts []float64
}

// NewIndex takes the stretches of the paths; a path with no stretch is never found.
func NewIndex(paths ...Path) *Index {
	ix := &Index{}
	var ends [][2]orb.Point
	for k, p := range paths {
		starts := p.Starts()
		for i, e := range p.segments() {
			ends = append(ends, e)
			ix.path, ix.local = append(ix.path, k), append(ix.local, i)
			ix.starts = append(ix.starts, starts[i])
		}
	}
	ix.tree = NewTree(ends)
	return ix
}

// Nearest gives the path's number and the place on it. With nothing to find, path is -1 and Dist
// is +Inf.
func (ix *Index) Nearest(q orb.Point) (path int, n Near) {
	seg, t, d2 := ix.tree.Nearest(q)
	if seg < 0 || math.IsInf(d2, 1) {
		return -1, Near{Dist: math.Inf(1)}
	}
	e := ix.tree.Ends[seg]
	pt := Lerp(e[0], e[1], t)
	return ix.path[seg], Near{
		Point: pt, Dist: Dist(pt, q), Segment: ix.local[seg], T: t,
		S: ix.starts[seg] + t*Dist(e[0], e[1]),
	}
}

// Contains tells whether a closed path holds q: its winding number is not zero, or q lies on the
// line within Tiny. An open path holds nothing.
func (p Path) Contains(q orb.Point) bool {
	if !p.Closed {
		return false
	}
	wind := 0
	for i := range p.Segments() {
		a, b := p.Segment(i)
		if q[1] < a[1]-Tiny && q[1] < b[1]-Tiny || q[1] > a[1]+Tiny && q[1] > b[1]+Tiny {
			continue // most stretches lie above or below
		}
		if q[0] >= min(a[0], b[0])-Tiny && q[0] <= max(a[0], b[0])+Tiny {
			if _, d2 := SegmentNearest(a, b, q); d2 <= Tiny*Tiny {
				return true
			}
		}
		side := Cross(Sub(b, a), Sub(q, a))
		switch {
		case a[1] <= q[1] && b[1] > q[1] && side > 0:
			wind++
		case a[1] > q[1] && b[1] <= q[1] && side < 0:
			wind--
		}
	}
	return wind != 0
}
