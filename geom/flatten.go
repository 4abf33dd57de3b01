package geom

import (
	"math"

	"github.com/paulmach/orb"
)

// Bounds on flattening, so that a hostile or broken curve costs no more than this many chords.
const (
	maxChords = 1 << 16
	maxDepth  = 16
)

// FlattenArc appends to dst the chords' ends of the elliptic arc c + u cos t + v sin t from t0 to
// t1, all but the start; u and v are conjugate half-axes in mm, which any affine map keeps. No
// chord leaves the arc by more than tol. Vertices lie on the arc and no chord spans more than a
// quarter turn of t.
func FlattenArc(dst []orb.Point, c, u, v orb.Point, t0, t1, tol float64) []orb.Point {
	n := arcChords(longHalfAxis(u, v), math.Abs(t1-t0), tol)
	for i := 1; i <= n; i++ {
		t := t1
		if i < n {
			t = t0 + (t1-t0)*float64(i)/float64(n)
		}
		s, k := math.Sincos(t)
		dst = append(dst, orb.Point{c[0] + u[0]*k + v[0]*s, c[1] + u[1]*k + v[1]*s})
	}
	return dst
}

// arcChords is the number of equal chords that keep a circle's arc of radius r and the given
// sweep within tol. An ellipse is the image of a circle, and its gap to a chord is the image of
// the circle's, so its longest half-axis serves as the radius.
func arcChords(r, sweep, tol float64) int {
	step := math.Pi / 2
	if tol < r {
		step = math.Min(step, 2*math.Acos(1-tol/r))
	}
	return chordCount(sweep / step)
}

func chordCount(x float64) int {
	switch n := math.Ceil(x - 1e-9); {
	case n > maxChords:
		return maxChords
	case n > 1:
		return int(n)
	default: // NaN too
		return 1
	}
}

// longHalfAxis is the largest distance of the ellipse from its centre.
func longHalfAxis(u, v orb.Point) float64 {
	p, q := Dot(u, u)+Dot(v, v), Cross(u, v)
	return math.Sqrt((p + math.Sqrt(math.Max(0, p*p-4*q*q))) / 2)
}

// FlattenQuad appends to dst the chords' ends of a quadratic curve with control points p0, p1, p2,
// all but p0. No chord leaves the curve by more than tol.
func FlattenQuad(dst []orb.Point, p0, p1, p2 orb.Point, tol float64) []orb.Point {
	n := 1
	if !flatEnough(p0, p1, p1, p2, tol*1.5) { // a quadratic reaches half its hull, a cubic three quarters
		bend := Norm(orb.Point{p0[0] - 2*p1[0] + p2[0], p0[1] - 2*p1[1] + p2[1]})
		n = chordCount(math.Sqrt(bend / (4 * tol)))
	}
	for i := 1; i < n; i++ {
		t := float64(i) / float64(n)
		dst = append(dst, Lerp(Lerp(p0, p1, t), Lerp(p1, p2, t), t))
	}
	return append(dst, p2)
}

// FlattenCubic appends to dst the chords' ends of a cubic curve with control points p0 to p3, all
// but p0. No chord leaves the curve by more than tol; the curve is halved where it bends, so
// straight stretches cost nothing.
func FlattenCubic(dst []orb.Point, p0, p1, p2, p3 orb.Point, tol float64) []orb.Point {
	return flattenCubic(dst, [4]orb.Point{p0, p1, p2, p3}, tol, 0)
}

func flattenCubic(dst []orb.Point, c [4]orb.Point, tol float64, depth int) []orb.Point {
	if depth == maxDepth || flatEnough(c[0], c[1], c[2], c[3], tol) {
		return append(dst, c[3])
	}
	a, b := SplitCubic(c[0], c[1], c[2], c[3], 0.5)
	return flattenCubic(flattenCubic(dst, a, tol, depth+1), b, tol, depth+1)
}

// flatEnough tells whether the chord from p0 to p3 stays within tol of the cubic. The curve never
// goes further from its chord than three quarters of its hull, and not past the chord's ends while
// the hull does not; the second rule covers hulls that do, and a loop, whose ends agree so that its
// chord has no direction, by the bound on the second derivative.
func flatEnough(p0, p1, p2, p3 orb.Point, tol float64) bool {
	chord := Sub(p3, p0)
	l2 := Dot(chord, chord)
	a, b := Sub(p1, p0), Sub(p2, p0)
	ta, tb := Dot(a, chord), Dot(b, chord)
	if l2 > 0 && ta >= 0 && tb >= 0 && ta <= l2 && tb <= l2 {
		far := math.Max(math.Abs(Cross(chord, a)), math.Abs(Cross(chord, b)))
		if 0.75*far <= tol*math.Sqrt(l2) {
			return true
		}
	}
	bend := math.Max(
		Norm(orb.Point{p0[0] - 2*p1[0] + p2[0], p0[1] - 2*p1[1] + p2[1]}),
		Norm(orb.Point{p1[0] - 2*p2[0] + p3[0], p1[1] - 2*p2[1] + p3[1]}))
	return !(0.75*bend > tol) // so that NaN ends the halving
}

// BulgeArc is the circle's arc from a to b with a DXF bulge, the tangent of a quarter of the sweep,
// positive counter-clockwise: its centre, radius, start angle and signed sweep in radians. A bulge
// below 1e-9, or ends that agree, is straight: then r and sweep are 0.
func BulgeArc(a, b orb.Point, bulge float64) (c orb.Point, r, start, sweep float64) {
	chord := Sub(b, a)
	l := Norm(chord)
	mid := Lerp(a, b, 0.5)
	if math.Abs(bulge) < 1e-9 || l < Tiny {
		return mid, 0, 0, 0
	}
	c = Add(mid, Mul(Left(chord), (1-bulge*bulge)/(4*bulge)))
	r = l * (1 + bulge*bulge) / (4 * math.Abs(bulge))
	return c, r, math.Atan2(a[1]-c[1], a[0]-c[0]), 4 * math.Atan(bulge)
}
