package blade

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// insidePoint finds a point inside a closed outline, as far from it as a few level lines show; ok is
// false where the outline encloses nothing to speak of.
func insidePoint(outline geom.Path) (orb.Point, bool) {
	const levels = 24
	b := outline.Bound()
	best, width := orb.Point{}, 0.0
	for k := range levels {
		y := b.Min[1] + (b.Max[1]-b.Min[1])*(float64(k)+0.5)/levels
		xs := levelCrossings(outline, y)
		for i := 0; i+1 < len(xs); i += 2 {
			p := orb.Point{(xs[i] + xs[i+1]) / 2, y}
			if w := outline.Nearest(p).Dist; w > width {
				best, width = p, w
			}
		}
	}
	return best, width > 1e-3
}

// levelCrossings are the sorted places where the outline crosses a level line.
func levelCrossings(p geom.Path, y float64) []float64 {
	var xs []float64
	for i := range p.Segments() {
		a, b := p.Segment(i)
		if (a[1] > y) != (b[1] > y) {
			xs = append(xs, a[0]+(b[0]-a[0])*(y-a[1])/(b[1]-a[1]))
		}
	}
	slices.Sort(xs)
	return xs
}

// cells are the squares of a grid that a segment may pass through or come close to.
func cells(a, b orb.Point, size float64) [][2]int {
	n := int(math.Ceil(dist(a, b)/(size/2))) + 1
	var out [][2]int
	for i := 0; i <= n; i++ {
		p := geom.Lerp(a, b, float64(i)/float64(n))
		for _, dx := range [2]float64{-joinTol, joinTol} {
			for _, dy := range [2]float64{-joinTol, joinTol} {
				c := [2]int{int(math.Floor((p[0] + dx) / size)), int(math.Floor((p[1] + dy) / size))}
				if !slices.Contains(out[max(0, len(out)-8):], c) {
					out = append(out, c)
				}
			}
		}
	}
	return out
}

// closest gives the points of two segments that lie closest, and their distance.
func closest(a, b, c, d orb.Point) (p, q orb.Point, by float64) {
	r, s := geom.Sub(b, a), geom.Sub(d, c)
	if den := geom.Cross(r, s); den != 0 {
		t := geom.Cross(geom.Sub(c, a), s) / den
		u := geom.Cross(geom.Sub(c, a), r) / den
		if t >= 0 && t <= 1 && u >= 0 && u <= 1 {
			x := geom.Lerp(a, b, t)
			return x, x, 0
		}
	}
	by = math.Inf(1)
	try := func(x, y orb.Point) {
		if e := dist(x, y); e < by {
			p, q, by = x, y, e
		}
	}
	try(a, onto(a, c, d))
	try(b, onto(b, c, d))
	try(onto(c, a, b), c)
	try(onto(d, a, b), d)
	return p, q, by
}

// onto is the point of segment a b nearest to p.
func onto(p, a, b orb.Point) orb.Point {
	u := geom.Sub(b, a)
	n := geom.Dot(u, u)
	if n == 0 {
		return a
	}
	return geom.Lerp(a, b, math.Min(1, math.Max(0, geom.Dot(geom.Sub(p, a), u)/n)))
}
