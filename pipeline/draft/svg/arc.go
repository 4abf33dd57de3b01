package svg

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// ellipseArc is an arc as centre and conjugate half-axes, which any affine map keeps: the points
// c + u cos t + v sin t for t from start over sweep.
type ellipseArc struct {
	c, u, v      orb.Point
	start, sweep float64
}

// arcCentre turns the endpoint form of an arc into the centre form: W3C SVG 1.1, implementation
// notes F.6.5 and F.6.6. ok is false where it is a straight line: a radius of 0.
func arcCentre(from, to orb.Point, rx, ry, tiltDeg float64, large, sweep bool) (a ellipseArc, ok bool) {
	rx, ry = math.Abs(rx), math.Abs(ry)
	// Ends closer than rounding are one place: the standard draws no arc between equal ends, and a
	// chord without a direction would make anything of it.
	if rx == 0 || ry == 0 || geom.Dist(from, to) < geom.Tiny {
		return a, false
	}
	sin, cos := math.Sincos(math.Mod(tiltDeg, 360) * math.Pi / 180)
	if q := tiltDeg / 90; q == math.Trunc(q) {
		sin, cos = math.Round(sin), math.Round(cos)
	}
	hx, hy := (from[0]-to[0])/2, (from[1]-to[1])/2
	x, y := cos*hx+sin*hy, -sin*hx+cos*hy
	// In units of the radii the ellipse is the unit circle and (px, py) half the chord.
	px, py := x/rx, y/ry
	l := px*px + py*py
	if l > 1 {
		s := math.Sqrt(l)
		rx, ry, px, py, l = rx*s, ry*s, px/s, py/s, 1
	}
	if l == 0 || math.IsNaN(l) || math.IsInf(l, 0) {
		return a, false
	}
	k := math.Sqrt(math.Max(0, 1/l-1))
	if large == sweep {
		k = -k
	}
	cx, cy := k*py, -k*px
	a.u, a.v = orb.Point{rx * cos, rx * sin}, orb.Point{-ry * sin, ry * cos}
	mid := geom.Lerp(from, to, 0.5)
	a.c = geom.Add(mid, geom.Add(geom.Mul(a.u, cx), geom.Mul(a.v, cy)))
	a.start = math.Atan2(py-cy, px-cx)
	a.sweep = math.Atan2(-py-cy, -px-cx) - a.start
	switch {
	case !sweep && a.sweep > 0:
		a.sweep -= 2 * math.Pi
	case sweep && a.sweep < 0:
		a.sweep += 2 * math.Pi
	}
	return a, true
}
