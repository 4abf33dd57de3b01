package exact

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// shape is a placed piece with cached data.
type shape struct {
	rings []geom.Path // the outline, then the holes
	near  *geom.Index
	box   orb.Bound
	core  orb.Point // a point well inside
}

func newShape(p Piece) (*shape, bool) {
	s := &shape{}
	for k, ring := range append([][]orb.Point{p.Outline}, p.Holes...) {
		for _, q := range ring {
			if math.IsNaN(q[0]+q[1]) || math.IsInf(q[0]+q[1], 0) {
				return nil, false
			}
		}
		if n := len(ring); n > 1 && geom.Dist(ring[0], ring[n-1]) < geom.Tiny {
			ring = ring[:n-1]
		}
		path := geom.Path{Points: ring, Closed: true}
		if k == 0 && (len(ring) < 3 || path.Area() == 0) {
			return nil, false
		}
		s.rings = append(s.rings, path)
	}
	s.box = s.rings[0].Bound()
	s.near = geom.NewIndex(s.rings...)
	s.core = s.deepPoint()
	return s, true
}

// inside reports whether q is on the piece's material; on its line the result is undefined.
func (s *shape) inside(q orb.Point) bool {
	if !s.box.Contains(q) || !s.rings[0].Contains(q) {
		return false
	}
	return !slices.ContainsFunc(s.rings[1:], func(h geom.Path) bool { return h.Contains(q) })
}

func (s *shape) dist(q orb.Point) float64 {
	_, n := s.near.Nearest(q)
	return n.Dist
}

// deepPoint searches along horizontal lines across the piece for the inner place farthest from its line: on some lines
// halfway between the heights of its vertices and, where that finds none, on all of them.
func (s *shape) deepPoint() orb.Point {
	var heights []float64
	for _, r := range s.rings {
		for _, p := range r.Points {
			heights = append(heights, p[1])
		}
	}
	slices.Sort(heights)
	best, deep := s.rings[0].Points[0], 0.0
	for step := max(1, len(heights)/16); ; step = 1 {
		for k := step; k < len(heights); k += step {
			if q, d := s.deepOn((heights[k-1] + heights[k]) / 2); d > deep {
				best, deep = q, d
			}
		}
		if step == 1 || deep > 2*Deepest {
			return best
		}
	}
}

// deepOn is the deepest of the middles of the inner parts of a horizontal line.
func (s *shape) deepOn(y float64) (best orb.Point, deep float64) {
	var xs []float64
	for _, r := range s.rings {
		for i := range r.Segments() {
			if a, b := r.Segment(i); (a[1] <= y) != (b[1] <= y) {
				xs = append(xs, a[0]+(b[0]-a[0])*(y-a[1])/(b[1]-a[1]))
			}
		}
	}
	slices.Sort(xs)
	for i := 1; i < len(xs); i += 2 {
		q := orb.Point{(xs[i-1] + xs[i]) / 2, y}
		if d := s.dist(q); d > deep {
			best, deep = q, d
		}
	}
	return best, deep
}

// tooNear is by how much in mm two pieces violate the gap, and where; 0 for no more than Deepest. For overlapping
// pieces it is how deep a line of one, or a point well inside it, is within the other.
func (s *shape) tooNear(o *shape, gap float64) (by float64, at orb.Point) {
	if s.box.Min[0] > o.box.Max[0]+gap || o.box.Min[0] > s.box.Max[0]+gap ||
		s.box.Min[1] > o.box.Max[1]+gap || o.box.Min[1] > s.box.Max[1]+gap {
		return 0, at
	}
	may := Deepest - gap
	for _, pair := range [2][2]*shape{{s, o}, {o, s}} {
		a, b := pair[0], pair[1]
		if b.inside(a.core) {
			if d := b.dist(a.core); d > max(may, 0) {
				return d + gap, a.core
			}
		}
		cuts := a.cuts(b)
		for k, ring := range a.rings {
			for i := range ring.Segments() {
				p, q := ring.Segment(i)
				if max(p[0], q[0]) < b.box.Min[0]-gap || min(p[0], q[0]) > b.box.Max[0]+gap ||
					max(p[1], q[1]) < b.box.Min[1]-gap || min(p[1], q[1]) > b.box.Max[1]+gap {
					continue
				}
				if may < 0 {
					if d := b.dist(p); d < -may {
						return gap - d, p
					}
				}
				at := p
				for _, c := range append(cuts[[2]int{k, i}], q) {
					if mid := geom.Lerp(at, c, 0.5); b.inside(mid) {
						if d, where := b.deeper(at, c, max(may, 0)); d > max(may, 0) {
							return d + gap, where
						}
					}
					at = c
				}
			}
		}
		if may < 0 && len(cuts) > 0 {
			first := slices.MinFunc(slices.Collect(maps.Keys(cuts)), func(x, y [2]int) int { return slices.Compare(x[:], y[:]) })
			return gap, cuts[first][0]
		}
	}
	return 0, at
}

// cuts lists where the lines of s meet those of o, by ring and segment of s, in order along the segment.
func (s *shape) cuts(o *shape) map[[2]int][]orb.Point {
	var out map[[2]int][]orb.Point
	for k, ring := range s.rings {
		for _, other := range o.rings {
			for _, c := range geom.Crossings(ring, other) {
				if out == nil {
					out = map[[2]int][]orb.Point{}
				}
				key := [2]int{k, c.I}
				out[key] = append(out[key], c.At)
			}
		}
	}
	for key, at := range out {
		from, _ := s.rings[key[0]].Segment(key[1])
		slices.SortFunc(at, func(p, q orb.Point) int { return cmp.Compare(geom.Dist(from, p), geom.Dist(from, q)) })
	}
	return out
}

// deeper searches along a segment inside s for a place deeper than may mm, and stops at the first. A half that stays
// within may of one single segment of s's line has none: along it that distance is greatest at an end.
func (s *shape) deeper(a, b orb.Point, may float64) (float64, orb.Point) {
	mid := geom.Lerp(a, b, 0.5)
	k, n := s.near.Nearest(mid)
	if n.Dist > may {
		return n.Dist, mid
	}
	p, q := s.rings[k].Segment(n.Segment)
	_, da := geom.SegmentNearest(p, q, a)
	_, db := geom.SegmentNearest(p, q, b)
	if max(da, db) <= may*may || geom.Dist(a, b) < geom.Tiny*1000 {
		return 0, mid
	}
	if d, at := s.deeper(a, mid, may); d > may {
		return d, at
	}
	return s.deeper(mid, b, may)
}
