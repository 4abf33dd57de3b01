// Package curve holds the true curves of a draft: lines, arcs and cubics, edges of outlines made of them,
// their lengths, areas, crossings and parallels. Coordinates are in the draft's unit, x out, y down;
// angles are in radians unless degrees are said. Nothing is flattened but by Flatten.
package curve

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// Segment is one stretch of a true curve: a line, a circle's arc or a cubic. Lengths and areas are
// measured on it, not on chords. Coordinates are those of the draft: its unit, x out, y down.
type Segment struct {
	From, To orb.Point
	Centre   orb.Point // of an arc
	Sweep    float64   // of an arc in radians, signed; 0 for what is none
	Cubic    bool
	h1, h2   orb.Point // handles of a cubic
	Mouth    int       // of the mouth of a dart in an outline that is being shaped: its number
}

// LineSeg is the straight stretch from a to b.
func LineSeg(a, b orb.Point) Segment { return Segment{From: a, To: b} }

// ArcSeg is the shorter arc from a to b round c.
func ArcSeg(a, b, c orb.Point) Segment {
	u, v := geom.Sub(a, c), geom.Sub(b, c)
	return Segment{From: a, To: b, Centre: c, Sweep: math.Atan2(geom.Cross(u, v), geom.Dot(u, v))}
}

// CubicSeg is the cubic from a to b with the handles h1 and h2.
func CubicSeg(a, h1, h2, b orb.Point) Segment {
	return Segment{From: a, To: b, Cubic: true, h1: h1, h2: h2}
}

// Between is the cubic with other ends, each handle moved with its end, so that it leaves and arrives as it did.
func (s Segment) Between(from, to orb.Point) Segment {
	return CubicSeg(from, geom.Add(s.h1, geom.Sub(from, s.From)), geom.Add(s.h2, geom.Sub(to, s.To)), to)
}

// IsArc tells whether it is an arc of a circle.
func (s Segment) IsArc() bool { return s.Sweep != 0 }

// Radius is an arc's radius.
func (s Segment) Radius() float64 { return geom.Dist(s.Centre, s.From) }

// Length is its true length.
func (s Segment) Length() float64 {
	switch {
	case s.Cubic:
		return geom.CubicLength(s.From, s.h1, s.h2, s.To)
	case s.IsArc():
		return s.Radius() * math.Abs(s.Sweep)
	}
	return geom.Dist(s.From, s.To)
}

// area is the part of the enclosed area that the stretch brings: half the integral of x dy - y dx.
func (s Segment) area() float64 {
	whole := geom.Cross(s.From, s.To) / 2
	switch {
	case s.Cubic:
		// Between chord and curve, by the control points (exact for a cubic).
		a, b, d := geom.Sub(s.h1, s.From), geom.Sub(s.h2, s.From), geom.Sub(s.To, s.From)
		return whole + 3*(geom.Cross(a, b)+geom.Cross(a, d)+2*geom.Cross(b, d))/20
	case s.IsArc():
		r := s.Radius()
		return whole + r*r*(s.Sweep-math.Sin(s.Sweep))/2
	}
	return whole
}

// At is the point at parameter t, 0 to 1: along an arc or line evenly, along a cubic by its own.
func (s Segment) At(t float64) orb.Point {
	switch {
	case s.Cubic:
		return geom.CubicAt(s.From, s.h1, s.h2, s.To, t)
	case s.IsArc():
		if t == 1 {
			return s.To
		}
		return geom.Add(s.Centre, geom.Rotate(s.Sweep*t).Vector(geom.Sub(s.From, s.Centre)))
	}
	return geom.Lerp(s.From, s.To, t)
}

// Dir is the direction at t, length 1.
func (s Segment) Dir(t float64) orb.Point {
	switch {
	case s.Cubic:
		d := geom.CubicDir(s.From, s.h1, s.h2, s.To, t)
		if geom.Norm(d) < 1e-9 {
			d = geom.Sub(s.At(math.Min(1, t+1e-4)), s.At(math.Max(0, t-1e-4)))
		}
		return geom.Unit(d)
	case s.IsArc():
		d := geom.Left(geom.Sub(s.At(t), s.Centre))
		if s.Sweep < 0 {
			d = geom.Mul(d, -1)
		}
		return geom.Unit(d)
	}
	return geom.Unit(geom.Sub(s.To, s.From))
}

// Reversed runs the other way.
func (s Segment) Reversed() Segment {
	return Segment{From: s.To, To: s.From, Centre: s.Centre, Sweep: -s.Sweep, Cubic: s.Cubic, h1: s.h2, h2: s.h1, Mouth: s.Mouth}
}

// Apply is its image under a map that keeps shapes: circles stay circles.
func (s Segment) Apply(m geom.Affine) Segment {
	q := Segment{From: m.Apply(s.From), To: m.Apply(s.To), Centre: m.Apply(s.Centre), Sweep: s.Sweep, Cubic: s.Cubic, h1: m.Apply(s.h1), h2: m.Apply(s.h2), Mouth: s.Mouth}
	if m.Det() < 0 {
		q.Sweep = -q.Sweep
	}
	return q
}

// Part is the stretch from parameter t0 to t1.
func (s Segment) Part(t0, t1 float64) Segment {
	if t0 == 0 && t1 == 1 {
		return s
	}
	q := s.cut(t0, t1)
	q.Mouth = s.Mouth
	return q
}

func (s Segment) cut(t0, t1 float64) Segment {
	switch {
	case s.Cubic:
		_, r := geom.SplitCubic(s.From, s.h1, s.h2, s.To, t0)
		u := 1.0
		if t0 < 1 {
			u = (t1 - t0) / (1 - t0)
		}
		l, _ := geom.SplitCubic(r[0], r[1], r[2], r[3], u)
		return CubicSeg(l[0], l[1], l[2], l[3])
	case s.IsArc():
		return Segment{From: s.At(t0), To: s.At(t1), Centre: s.Centre, Sweep: s.Sweep * (t1 - t0)}
	}
	return LineSeg(s.At(t0), s.At(t1))
}

// AtLength is the parameter at which the stretch has run l.
func (s Segment) AtLength(l float64) float64 {
	if s.Cubic {
		return geom.CubicAtLength(s.From, s.h1, s.h2, s.To, l)
	}
	if n := s.Length(); n > 0 {
		return math.Max(0, math.Min(1, l/n))
	}
	return 0
}

// meets are the parameters at which the stretch crosses the line through p in direction u; ends
// count within a hair.
func (s Segment) meets(p, u orb.Point) []float64 {
	f := func(t float64) float64 { return geom.Cross(u, geom.Sub(s.At(t), p)) }
	const hair = 1e-7
	n := 1
	switch {
	case s.Cubic:
		n = 48
	case s.IsArc():
		n = 4 + int(math.Abs(s.Sweep)*8)
	}
	var ts []float64
	add := func(t float64) {
		if k := len(ts); k == 0 || geom.Dist(s.At(ts[k-1]), s.At(t)) > 1e-6 {
			ts = append(ts, t)
		}
	}
	fh := f(0)
	if math.Abs(fh) < hair {
		add(0)
	}
	for i := range n {
		lo, hi := float64(i)/float64(n), float64(i+1)/float64(n)
		fl := fh
		fh = f(hi)
		if math.Abs(fl) < hair || math.Abs(fh) < hair || fl*fh > 0 {
			if math.Abs(fh) < hair {
				add(hi)
			}
			continue
		}
		lo, hi = geom.Halve(lo, hi, 100, func(t float64) bool { return (f(t) > 0) != (fh > 0) })
		add((lo + hi) / 2)
	}
	return ts
}

// Flatten appends the chords' ends, all but the start, within tol.
func (s Segment) Flatten(dst []orb.Point, tol float64) []orb.Point {
	switch {
	case s.Cubic:
		return geom.FlattenCubic(dst, s.From, s.h1, s.h2, s.To, tol)
	case s.IsArc():
		u := geom.Sub(s.From, s.Centre)
		dst = geom.FlattenArc(dst, s.Centre, u, geom.Left(u), 0, s.Sweep, tol)
		dst[len(dst)-1] = s.To
		return dst
	}
	return append(dst, s.To)
}

// Curve is a row of stretches, each beginning where the one before ends.
type Curve []Segment

// Length is the sum of its stretches.
func (c Curve) Length() float64 {
	var sum float64
	for _, s := range c {
		sum += s.Length()
	}
	return sum
}

// With is the curve with another stretch in one place.
func (c Curve) With(i int, s Segment) Curve {
	out := append(Curve(nil), c...)
	out[i] = s
	return out
}

// Start is where its first stretch begins. A curve has at least one.
func (c Curve) Start() orb.Point { return c[0].From }

// End is where its last stretch ends.
func (c Curve) End() orb.Point { return c[len(c)-1].To }

// Reversed runs the other way.
func (c Curve) Reversed() Curve {
	out := make(Curve, 0, len(c))
	for i := len(c) - 1; i >= 0; i-- {
		out = append(out, c[i].Reversed())
	}
	return out
}

// Apply is its image, stretch by stretch.
func (c Curve) Apply(m geom.Affine) Curve {
	out := make(Curve, len(c))
	for i, s := range c {
		out[i] = s.Apply(m)
	}
	return out
}

// At is the point at length l from the start, and the direction there.
func (c Curve) At(l float64) (orb.Point, orb.Point) {
	for i, s := range c {
		n := s.Length()
		if l <= n || i == len(c)-1 {
			t := s.AtLength(l)
			return s.At(t), s.Dir(t)
		}
		l -= n
	}
	return orb.Point{}, orb.Point{}
}

// Place is a crossing: stretch i at parameter t.
type Place struct {
	Index int
	T     float64
}

// Meets lists the places where it crosses the line through p in direction u.
func (c Curve) Meets(p, u orb.Point) []Place {
	var out []Place
	for i, s := range c {
		for _, t := range s.meets(p, u) {
			if k := len(out); k > 0 && geom.Dist(c[out[k-1].Index].At(out[k-1].T), s.At(t)) < 1e-6 {
				continue
			}
			out = append(out, Place{i, t})
		}
	}
	return out
}

// Between is the stretch between two places, running from p to q, also backwards.
func (c Curve) Between(p, q Place) Curve {
	if q.Index < p.Index || q.Index == p.Index && q.T < p.T {
		return c.Between(q, p).Reversed()
	}
	var out Curve
	for i := p.Index; i <= q.Index; i++ {
		t0, t1 := 0.0, 1.0
		if i == p.Index {
			t0 = p.T
		}
		if i == q.Index {
			t1 = q.T
		}
		if s := c[i].Part(t0, t1); s.Length() > 1e-9 {
			out = append(out, s)
		}
	}
	return out
}

// Area is what it adds to the signed area of an outline of which it is a part.
func (c Curve) Area() float64 {
	var sum float64
	for _, s := range c {
		sum += s.area()
	}
	return sum
}
