package dxf

import (
	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// wrap is how many points of a closed fitted curve are repeated on either side: the pull of an end
// fades to a quarter with each point, so that nothing is left of it.
const wrap = 16

// fitted is the cubic curve through the fit points, with chord lengths as parameters: natural at
// its ends, or along the tangents where they are given; all round smooth where it is closed. The
// reference names no interpolation.
func (s *spline) fitted() (out [][]control, fault string) {
	pts := distinct(s.fit)
	if len(pts) < 2 {
		return nil, "it has neither control points nor two points to go through"
	}
	closed := s.flags&(splineClosed|splinePeriodic) != 0
	if closed && geom.Dist(pts[0], pts[len(pts)-1]) < geom.Tiny {
		pts = pts[:len(pts)-1]
	}
	if !closed || len(pts) < 3 {
		return cubicThrough(pts, s.in, s.out), ""
	}
	n := len(pts)
	k := min(wrap, n)
	ring := make([]orb.Point, 0, n+1+2*k)
	for i := -k; i <= n+k; i++ {
		ring = append(ring, pts[((i%n)+n)%n])
	}
	return cubicThrough(ring, orb.Point{}, orb.Point{})[k : k+n], ""
}

func distinct(pts []orb.Point) []orb.Point {
	var out []orb.Point
	for _, p := range pts {
		if n := len(out); n == 0 || geom.Dist(out[n-1], p) >= geom.Tiny {
			out = append(out, p)
		}
	}
	return out
}

// cubicThrough gives the Bezier curves between neighbours. It solves for the tangents: rows
// a[i] m[i-1] + b[i] m[i] + c[i] m[i+1] = d[i].
func cubicThrough(pts []orb.Point, in, out orb.Point) [][]control {
	n := len(pts)
	h := make([]float64, n-1)
	for i := range h {
		h[i] = geom.Dist(pts[i], pts[i+1])
	}
	a, b, c, d := make([]float64, n), make([]float64, n), make([]float64, n), make([]orb.Point, n)
	slope := func(i int) orb.Point { return geom.Mul(geom.Sub(pts[i+1], pts[i]), 1/h[i]) }
	b[0], c[0], d[0] = 2, 1, geom.Mul(slope(0), 3)
	a[n-1], b[n-1], d[n-1] = 1, 2, geom.Mul(slope(n-2), 3)
	if u := geom.Unit(in); u != (orb.Point{}) {
		b[0], c[0], d[0] = 1, 0, u
	}
	if u := geom.Unit(out); u != (orb.Point{}) {
		a[n-1], b[n-1], d[n-1] = 0, 1, u
	}
	for i := 1; i+1 < n; i++ {
		a[i], b[i], c[i] = h[i], 2*(h[i-1]+h[i]), h[i-1]
		d[i] = geom.Add(geom.Mul(slope(i-1), 3*h[i]), geom.Mul(slope(i), 3*h[i-1]))
	}
	for i := 1; i < n; i++ {
		w := a[i] / b[i-1]
		b[i] -= w * c[i-1]
		d[i] = geom.Sub(d[i], geom.Mul(d[i-1], w))
	}
	m := make([]orb.Point, n)
	m[n-1] = geom.Mul(d[n-1], 1/b[n-1])
	for i := n - 2; i >= 0; i-- {
		m[i] = geom.Mul(geom.Sub(d[i], geom.Mul(m[i+1], c[i])), 1/b[i])
	}
	list := make([][]control, n-1)
	for i := range list {
		p, q := pts[i], pts[i+1]
		list[i] = []control{plain(p), plain(geom.Add(p, geom.Mul(m[i], h[i]/3))), plain(geom.Sub(q, geom.Mul(m[i+1], h[i]/3))), plain(q)}
	}
	return list
}

func plain(p orb.Point) control { return control{p[0], p[1], 1} }
