package separation

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// stretch is a directed segment of a no-fit outline, with the places of conflict on its left.
type stretch struct {
	x, y   float64 // its start
	ux, uy float64 // its direction, a unit vector
	length float64
}

// noFit gives the outline of the set of places q at which b, with its origin at q, overlaps a: the union of the
// Minkowski sums of the convex parts of a with those of b turned by 180 degrees. A place where b fits exactly is a
// slit: two segments that coincide in opposite directions. It also gives the sums; each place of conflict is inside
// one.
func noFit(a, b [][]orb.Point) ([]stretch, [][]orb.Point) {
	var sums [][]orb.Point
	for _, p := range a {
		for _, q := range b {
			neg := make([]orb.Point, len(q))
			for i, v := range q {
				neg[i] = orb.Point{-v[0], -v[1]}
			}
			sums = append(sums, convexSum(p, neg))
		}
	}
	// Large sums cover most, so they are tested first.
	slices.SortStableFunc(sums, func(p, q []orb.Point) int {
		return cmp.Compare(geom.Path{Points: q, Closed: true}.Area(), geom.Path{Points: p, Closed: true}.Area())
	})
	boxes := make([]orb.Bound, len(sums))
	lines := make([][]stretch, len(sums))
	for k, s := range sums {
		boxes[k] = orb.Ring(s).Bound()
		for i, p := range s {
			q := s[(i+1)%len(s)]
			if l := geom.Dist(p, q); l > geom.Tiny {
				lines[k] = append(lines[k], stretch{p[0], p[1], (q[0] - p[0]) / l, (q[1] - p[1]) / l, l})
			}
		}
	}
	var out []stretch
	var free, next [][2]float64
	for k := range sums {
		for _, e := range lines[k] {
			free = append(free[:0], [2]float64{0, e.length})
			x0, x1 := min(e.x, e.x+e.ux*e.length), max(e.x, e.x+e.ux*e.length)
			y0, y1 := min(e.y, e.y+e.uy*e.length), max(e.y, e.y+e.uy*e.length)
			for m := range sums {
				if m == k || boxes[m].Min[0] > x1 || boxes[m].Max[0] < x0 || boxes[m].Min[1] > y1 || boxes[m].Max[1] < y0 {
					continue
				}
				lo, hi := covered(e, lines[m], m < k)
				if hi-lo < coverEps {
					continue
				}
				next = next[:0]
				for _, f := range free {
					if lo-f[0] > coverEps {
						next = append(next, [2]float64{f[0], min(f[1], lo)})
					}
					if f[1]-hi > coverEps {
						next = append(next, [2]float64{max(f[0], hi), f[1]})
					}
				}
				free, next = next, free
				if len(free) == 0 {
					break
				}
			}
			for _, f := range free {
				out = append(out, stretch{e.x + e.ux*f[0], e.y + e.uy*f[0], e.ux, e.uy, f[1] - f[0]})
			}
		}
	}
	return out, sums
}

// coverEps is the length in mm below which a part of a segment is ignored.
const coverEps = 1e-7

// covered is the part of a segment inside a convex polygon, lo to hi along it. A part on the polygon's line is inside
// when both have the same direction and first is true, so that one of two equal segments is left.
func covered(e stretch, polygon []stretch, first bool) (lo, hi float64) {
	lo, hi = 0, e.length
	for i := range polygon {
		h := &polygon[i]
		dx, dy := e.x-h.x, e.y-h.y
		d0 := h.ux*dy - h.uy*dx // distance of its start to the left
		slope := h.ux*e.uy - h.uy*e.ux
		d1 := d0 + slope*e.length
		switch {
		case math.Abs(d0) < coverEps && math.Abs(d1) < coverEps:
			if !first || h.ux*e.ux+h.uy*e.uy < 0 {
				return 0, 0
			}
		case d0 <= coverEps && d1 <= coverEps:
			return 0, 0
		case d0 < 0:
			lo = max(lo, -d0/slope)
		case d1 < 0:
			hi = min(hi, -d0/slope)
		}
		if hi-lo < coverEps {
			return 0, 0
		}
	}
	return lo, hi
}

// convexSum is the Minkowski sum of two convex polygons, both counter-clockwise.
func convexSum(a, b []orb.Point) []orb.Point {
	lowest := func(p []orb.Point) int {
		best := 0
		for i := range p {
			if p[i][1] < p[best][1] || p[i][1] == p[best][1] && p[i][0] < p[best][0] {
				best = i
			}
		}
		return best
	}
	i0, j0 := lowest(a), lowest(b)
	at := geom.Add(a[i0], b[j0])
	out := make([]orb.Point, 0, len(a)+len(b))
	for i, j := 0, 0; i < len(a) || j < len(b); {
		out = append(out, at)
		ea := geom.Sub(a[(i0+i+1)%len(a)], a[(i0+i)%len(a)])
		eb := geom.Sub(b[(j0+j+1)%len(b)], b[(j0+j)%len(b)])
		var takeA, takeB bool
		switch {
		case i == len(a):
			takeB = true
		case j == len(b):
			takeA = true
		default:
			c := geom.Cross(ea, eb)
			takeA, takeB = c >= 0, c <= 0
		}
		if takeA {
			at = geom.Add(at, ea)
			i++
		}
		if takeB {
			at = geom.Add(at, eb)
			j++
		}
	}
	return out
}
