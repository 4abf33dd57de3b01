package measured

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// seg is one stretch of a true curve: a line, a circle's arc or a cubic. Lengths and areas are
// measured on it, not on chords. Coordinates are those of the draft: its unit, x out, y down.
type seg struct {
	a, b   orb.Point
	centre orb.Point // of an arc
	sweep  float64   // of an arc in radians, signed; 0 for what is none
	cubic  bool
	h1, h2 orb.Point // handles of a cubic
	mouth  int       // of the mouth of a dart in an outline that is being shaped: its number
}

func lineSeg(a, b orb.Point) seg { return seg{a: a, b: b} }

// arcSeg is the shorter arc from a to b round c.
func arcSeg(a, b, c orb.Point) seg {
	u, v := geom.Sub(a, c), geom.Sub(b, c)
	return seg{a: a, b: b, centre: c, sweep: math.Atan2(geom.Cross(u, v), geom.Dot(u, v))}
}

func cubicSeg(a, h1, h2, b orb.Point) seg { return seg{a: a, b: b, cubic: true, h1: h1, h2: h2} }

func (s seg) isArc() bool { return s.sweep != 0 }

func (s seg) radius() float64 { return geom.Dist(s.centre, s.a) }

func (s seg) length() float64 {
	switch {
	case s.cubic:
		return geom.CubicLength(s.a, s.h1, s.h2, s.b)
	case s.isArc():
		return s.radius() * math.Abs(s.sweep)
	}
	return geom.Dist(s.a, s.b)
}

// area is the part of the enclosed area that the stretch brings: half the integral of x dy - y dx.
func (s seg) area() float64 {
	whole := geom.Cross(s.a, s.b) / 2
	switch {
	case s.cubic:
		// Between chord and curve, by the control points (exact for a cubic).
		a, b, d := geom.Sub(s.h1, s.a), geom.Sub(s.h2, s.a), geom.Sub(s.b, s.a)
		return whole + 3*(geom.Cross(a, b)+geom.Cross(a, d)+2*geom.Cross(b, d))/20
	case s.isArc():
		r := s.radius()
		return whole + r*r*(s.sweep-math.Sin(s.sweep))/2
	}
	return whole
}

// at is the point at parameter t, 0 to 1: along an arc or line evenly, along a cubic by its own.
func (s seg) at(t float64) orb.Point {
	switch {
	case s.cubic:
		return geom.CubicAt(s.a, s.h1, s.h2, s.b, t)
	case s.isArc():
		if t == 1 {
			return s.b
		}
		return geom.Add(s.centre, geom.Rotate(s.sweep*t).Vector(geom.Sub(s.a, s.centre)))
	}
	return geom.Lerp(s.a, s.b, t)
}

// dir is the direction at t, length 1.
func (s seg) dir(t float64) orb.Point {
	switch {
	case s.cubic:
		d := geom.CubicDir(s.a, s.h1, s.h2, s.b, t)
		if geom.Norm(d) < 1e-9 {
			d = geom.Sub(s.at(math.Min(1, t+1e-4)), s.at(math.Max(0, t-1e-4)))
		}
		return geom.Unit(d)
	case s.isArc():
		d := geom.Left(geom.Sub(s.at(t), s.centre))
		if s.sweep < 0 {
			d = geom.Mul(d, -1)
		}
		return geom.Unit(d)
	}
	return geom.Unit(geom.Sub(s.b, s.a))
}

func (s seg) reversed() seg {
	return seg{a: s.b, b: s.a, centre: s.centre, sweep: -s.sweep, cubic: s.cubic, h1: s.h2, h2: s.h1, mouth: s.mouth}
}

func (s seg) apply(m geom.Affine) seg {
	q := seg{a: m.Apply(s.a), b: m.Apply(s.b), centre: m.Apply(s.centre), sweep: s.sweep, cubic: s.cubic, h1: m.Apply(s.h1), h2: m.Apply(s.h2), mouth: s.mouth}
	if m.Det() < 0 {
		q.sweep = -q.sweep
	}
	return q
}

// part is the stretch from parameter t0 to t1.
func (s seg) part(t0, t1 float64) seg {
	if t0 == 0 && t1 == 1 {
		return s
	}
	q := s.cut(t0, t1)
	q.mouth = s.mouth
	return q
}

func (s seg) cut(t0, t1 float64) seg {
	switch {
	case s.cubic:
		_, r := geom.SplitCubic(s.a, s.h1, s.h2, s.b, t0)
		u := 1.0
		if t0 < 1 {
			u = (t1 - t0) / (1 - t0)
		}
		l, _ := geom.SplitCubic(r[0], r[1], r[2], r[3], u)
		return cubicSeg(l[0], l[1], l[2], l[3])
	case s.isArc():
		return seg{a: s.at(t0), b: s.at(t1), centre: s.centre, sweep: s.sweep * (t1 - t0)}
	}
	return lineSeg(s.at(t0), s.at(t1))
}

// atLength is the parameter at which the stretch has run l.
func (s seg) atLength(l float64) float64 {
	if s.cubic {
		return geom.CubicAtLength(s.a, s.h1, s.h2, s.b, l)
	}
	if n := s.length(); n > 0 {
		return math.Max(0, math.Min(1, l/n))
	}
	return 0
}

// meets are the parameters at which the stretch crosses the line through p in direction u; ends
// count within a hair.
func (s seg) meets(p, u orb.Point) []float64 {
	f := func(t float64) float64 { return geom.Cross(u, geom.Sub(s.at(t), p)) }
	const hair = 1e-7
	n := 1
	switch {
	case s.cubic:
		n = 48
	case s.isArc():
		n = 4 + int(math.Abs(s.sweep)*8)
	}
	var ts []float64
	add := func(t float64) {
		if k := len(ts); k == 0 || geom.Dist(s.at(ts[k-1]), s.at(t)) > 1e-6 {
			ts = append(ts, t)
		}
	}
	if math.Abs(f(0)) < hair {
		add(0)
	}
	for i := range n {
		lo, hi := float64(i)/float64(n), float64(i+1)/float64(n)
		fl, fh := f(lo), f(hi)
		if math.Abs(fl) < hair || math.Abs(fh) < hair || fl*fh > 0 {
			if math.Abs(fh) < hair {
				add(hi)
			}
			continue
		}
		for range 100 {
			mid := (lo + hi) / 2
			if (f(mid) > 0) == (fh > 0) {
				hi = mid
			} else {
				lo = mid
			}
		}
		add((lo + hi) / 2)
	}
	return ts
}

// flatten appends the chords' ends, all but the start, within tol.
func (s seg) flatten(dst []orb.Point, tol float64) []orb.Point {
	switch {
	case s.cubic:
		return geom.FlattenCubic(dst, s.a, s.h1, s.h2, s.b, tol)
	case s.isArc():
		u := geom.Sub(s.a, s.centre)
		dst = geom.FlattenArc(dst, s.centre, u, geom.Left(u), 0, s.sweep, tol)
		dst[len(dst)-1] = s.b
		return dst
	}
	return append(dst, s.b)
}

// curve is a row of stretches, each beginning where the one before ends.
type curve []seg

func (c curve) length() float64 {
	var sum float64
	for _, s := range c {
		sum += s.length()
	}
	return sum
}

// with is the curve with another stretch in one place.
func (c curve) with(i int, s seg) curve {
	out := append(curve(nil), c...)
	out[i] = s
	return out
}

func (c curve) start() orb.Point { return c[0].a }
func (c curve) end() orb.Point   { return c[len(c)-1].b }

func (c curve) reversed() curve {
	out := make(curve, 0, len(c))
	for i := len(c) - 1; i >= 0; i-- {
		out = append(out, c[i].reversed())
	}
	return out
}

func (c curve) apply(m geom.Affine) curve {
	out := make(curve, len(c))
	for i, s := range c {
		out[i] = s.apply(m)
	}
	return out
}

// at is the point at length l from the start, and the direction there.
func (c curve) at(l float64) (orb.Point, orb.Point) {
	for i, s := range c {
		n := s.length()
		if l <= n || i == len(c)-1 {
			t := s.atLength(l)
			return s.at(t), s.dir(t)
		}
		l -= n
	}
	return orb.Point{}, orb.Point{}
}

// place is a crossing: stretch i at parameter t.
type place struct {
	i int
	t float64
}

func (c curve) meets(p, u orb.Point) []place {
	var out []place
	for i, s := range c {
		for _, t := range s.meets(p, u) {
			if k := len(out); k > 0 && geom.Dist(c[out[k-1].i].at(out[k-1].t), s.at(t)) < 1e-6 {
				continue
			}
			out = append(out, place{i, t})
		}
	}
	return out
}

// between is the stretch between two places, running from p to q, also backwards.
func (c curve) between(p, q place) curve {
	if q.i < p.i || q.i == p.i && q.t < p.t {
		return c.between(q, p).reversed()
	}
	var out curve
	for i := p.i; i <= q.i; i++ {
		t0, t1 := 0.0, 1.0
		if i == p.i {
			t0 = p.t
		}
		if i == q.i {
			t1 = q.t
		}
		if s := c[i].part(t0, t1); s.length() > 1e-9 {
			out = append(out, s)
		}
	}
	return out
}

func (c curve) area() float64 {
	var sum float64
	for _, s := range c {
		sum += s.area()
	}
	return sum
}
