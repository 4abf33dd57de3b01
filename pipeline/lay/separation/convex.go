package separation

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// convexParts divides a ring with holes into convex polygons, counter-clockwise, whose union it is. A ring that cannot
// be divided, such as one that crosses itself, gives its convex hull, which contains it.
func convexParts(outline []orb.Point, holes [][]orb.Point) [][]orb.Point {
	ring := geom.Path{Points: outline, Closed: true}.CounterClockwise().Points
	if isConvex(ring) && len(holes) == 0 {
		return [][]orb.Point{ring}
	}
	if parts, ok := triangles(bridged(ring, holes)); ok {
		return joined(parts)
	}
	return [][]orb.Point{hull(outline)}
}

func turnOf(a, b, c orb.Point) float64 { return geom.Cross(geom.Sub(b, a), geom.Sub(c, b)) }

func isConvex(ring []orb.Point) bool {
	n := len(ring)
	var around float64
	for i := range ring {
		a, b, c := ring[i], ring[(i+1)%n], ring[(i+2)%n]
		cross := turnOf(a, b, c)
		if cross < 0 {
			return false
		}
		around += math.Atan2(cross, geom.Dot(geom.Sub(b, a), geom.Sub(c, b)))
	}
	return around < 2*math.Pi+1
}

// bridged joins holes to the outline by a line there and back, which makes one ring.
func bridged(ring []orb.Point, holes [][]orb.Point) []orb.Point {
	ring = slices.Clone(ring)
	holes = slices.Clone(holes)
	rightmost := func(h []orb.Point) int {
		best := 0
		for i := range h {
			if h[i][0] > h[best][0] {
				best = i
			}
		}
		return best
	}
	holes = slices.DeleteFunc(holes, func(h []orb.Point) bool { return len(h) < 3 })
	slices.SortStableFunc(holes, func(a, b []orb.Point) int { return cmp.Compare(b[rightmost(b)][0], a[rightmost(a)][0]) })
	for _, h := range holes {
		h = slices.Clone(h)
		if (geom.Path{Points: h, Closed: true}).SignedArea() > 0 {
			slices.Reverse(h)
		}
		from := rightmost(h)
		to := visibleFrom(ring, h[from])
		if to < 0 {
			continue // a hole that is not inside the outline is not free space
		}
		var out []orb.Point
		out = append(out, ring[:to+1]...)
		out = append(out, h[from:]...)
		out = append(out, h[:from+1]...)
		ring = append(out, ring[to:]...)
	}
	return ring
}

// visibleFrom is the nearest vertex of a ring to the right of q that a straight line from q reaches without meeting
// the ring.
func visibleFrom(ring []orb.Point, q orb.Point) int {
	best, near := -1, math.Inf(1)
	n := len(ring)
	for k, v := range ring {
		d := geom.Dist(q, v)
		if d >= near || v[0] < q[0] {
			continue
		}
		// The line must leave v towards the inside: between its two edges.
		prev, next := ring[(k+n-1)%n], ring[(k+1)%n]
		in, out := geom.Cross(geom.Sub(v, prev), geom.Sub(q, v)), geom.Cross(geom.Sub(next, v), geom.Sub(q, v))
		if convex := turnOf(prev, v, next) >= 0; convex && (in < 0 || out < 0) || !convex && in < 0 && out < 0 {
			continue
		}
		free := true
		for i := range ring {
			a, b := ring[i], ring[(i+1)%n]
			if a != v && b != v && properCross(q, v, a, b) {
				free = false
				break
			}
		}
		if free {
			best, near = k, d
		}
	}
	return best
}

// properCross reports whether two segments meet; a touch counts.
func properCross(a, b, c, d orb.Point) bool {
	o1, o2 := geom.Cross(geom.Sub(b, a), geom.Sub(c, a)), geom.Cross(geom.Sub(b, a), geom.Sub(d, a))
	o3, o4 := geom.Cross(geom.Sub(d, c), geom.Sub(a, c)), geom.Cross(geom.Sub(d, c), geom.Sub(b, c))
	return o1*o2 <= 0 && o3*o4 <= 0 && !(o1 == 0 && o2 == 0)
}

// triangles triangulates a counter-clockwise ring by clipping ears; ok is false where it finds none.
func triangles(ring []orb.Point) (out [][]orb.Point, ok bool) {
	left := make([]int, len(ring))
	for i := range left {
		left[i] = i
	}
	for len(left) > 3 {
		n := len(left)
		best, quality := -1, math.Inf(-1)
		for k := range left {
			a, b, c := ring[left[(k+n-1)%n]], ring[left[k]], ring[left[(k+1)%n]]
			area := turnOf(a, b, c)
			if area < 0 {
				continue
			}
			ear := true
			for _, m := range left {
				if p := ring[m]; p != a && p != b && p != c && inTriangle(a, b, c, p) {
					ear = false
					break
				}
			}
			// The roundest ears first: thin triangles merge badly.
			if q := area / (1e-300 + math.Pow(max(geom.Dist(a, b), geom.Dist(b, c), geom.Dist(c, a)), 2)); ear && q > quality {
				best, quality = k, q
			}
		}
		if best < 0 {
			return nil, false
		}
		if a, b, c := ring[left[(best+n-1)%n]], ring[left[best]], ring[left[(best+1)%n]]; turnOf(a, b, c) > 0 {
			out = append(out, []orb.Point{a, b, c})
		}
		left = slices.Delete(left, best, best+1)
	}
	a, b, c := ring[left[0]], ring[left[1]], ring[left[2]]
	switch t := turnOf(a, b, c); {
	case t < 0:
		return nil, false
	case t > 0:
		out = append(out, []orb.Point{a, b, c})
	}
	return out, len(out) > 0
}

func inTriangle(a, b, c, p orb.Point) bool {
	return turnOf(a, b, p) >= 0 && turnOf(b, c, p) >= 0 && turnOf(c, a, p) >= 0
}

// joined removes diagonals as long as the two parts beside one stay convex together (Hertel and Mehlhorn 1983).
func joined(parts [][]orb.Point) [][]orb.Point {
	for again := true; again; {
		again = false
	pairs:
		for i := range parts {
			for j := i + 1; j < len(parts); j++ {
				if whole, ok := join(parts[i], parts[j]); ok {
					parts[i] = whole
					parts = slices.Delete(parts, j, j+1)
					again = true
					break pairs
				}
			}
		}
	}
	return parts
}

func join(a, b []orb.Point) ([]orb.Point, bool) {
	for i := range a {
		for j := range b {
			if a[i] != b[(j+1)%len(b)] || a[(i+1)%len(a)] != b[j] {
				continue
			}
			var out []orb.Point
			for k := range a {
				out = append(out, a[(i+1+k)%len(a)])
			}
			for k := 2; k < len(b); k++ {
				out = append(out, b[(j+k)%len(b)])
			}
			return out, isConvex(out)
		}
	}
	return nil, false
}

// hull is the convex hull, counter-clockwise.
func hull(pts []orb.Point) []orb.Point {
	p := slices.Clone(pts)
	slices.SortFunc(p, func(a, b orb.Point) int { return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1])) })
	half := func(p []orb.Point) (out []orb.Point) {
		for _, q := range p {
			for len(out) > 1 && turnOf(out[len(out)-2], out[len(out)-1], q) <= 0 {
				out = out[:len(out)-1]
			}
			out = append(out, q)
		}
		return out[:len(out)-1]
	}
	out := half(p)
	slices.Reverse(p)
	return append(out, half(p)...)
}
