package knife

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// element is a line or an arc of the wanted tip path, from a to b.
type element struct {
	a, b  orb.Point
	arc   bool
	c     orb.Point // centre
	r     float64   // radius
	sweep float64   // counter-clockwise positive
}

// elements fits lines and arcs to a tidied path.
func elements(p geom.Path) []element {
	if p.Segments() == 0 {
		return nil
	}
	var out []element
	at := p.Points[0]
	for _, f := range geom.FitArcs(p, geom.ArcFitTol) {
		e := element{a: at, b: f.To, arc: f.Arc, c: f.Centre}
		if f.Arc {
			e.r = geom.Dist(e.a, e.c)
			e.sweep = sweepOf(e.a, e.b, e.c, f.CCW)
		}
		if e.length() >= geom.Tiny {
			out = append(out, e)
			at = f.To
		}
	}
	return out
}

// sweepOf is the turn about c from a to b in the direction given, under a full turn.
func sweepOf(a, b, c orb.Point, ccw bool) float64 {
	u, v := geom.Sub(a, c), geom.Sub(b, c)
	s := math.Atan2(geom.Cross(u, v), geom.Dot(u, v))
	switch {
	case ccw && s < 0:
		s += 2 * math.Pi
	case !ccw && s > 0:
		s -= 2 * math.Pi
	}
	return s
}

func (e element) length() float64 {
	if e.arc {
		return e.r * math.Abs(e.sweep)
	}
	return geom.Dist(e.a, e.b)
}

// tangent is the direction of travel at a point of the element, of length 1.
func (e element) tangent(at orb.Point) orb.Point {
	if !e.arc {
		return geom.Unit(geom.Sub(e.b, e.a))
	}
	t := geom.Left(geom.Unit(geom.Sub(at, e.c)))
	if e.sweep < 0 {
		t = geom.Mul(t, -1)
	}
	return t
}

// head is the first stretch of the element, of a length in mm.
func (e element) head(length float64) element {
	t := length / e.length()
	if t >= 1 {
		return e
	}
	if !e.arc {
		e.b = geom.Lerp(e.a, e.b, t)
		return e
	}
	e.sweep *= t
	e.b = geom.Add(e.c, turned(geom.Sub(e.a, e.c), e.sweep))
	return e
}

// turned is a vector turned counter-clockwise by an angle.
func turned(v orb.Point, angle float64) orb.Point {
	s, c := math.Sincos(angle)
	return orb.Point{v[0]*c - v[1]*s, v[0]*s + v[1]*c}
}

// turnBetween is the angle from one direction to another, in (-pi, pi]. Exactly back counts as
// counter-clockwise, whatever the sign that rounding leaves.
func turnBetween(t0, t1 orb.Point) float64 {
	a := math.Atan2(geom.Cross(t0, t1), geom.Dot(t0, t1))
	if math.Pi-math.Abs(a) < backTol {
		return math.Pi
	}
	return a
}

// backTol is the greatest difference from a half turn, radians, of a turn that counts as one.
const backTol = 1e-6

// outline is a tip path with the headings wanted at the ends of each element. Where two elements
// meet in a kink too small to turn for, both take the direction between: a turn of its own, however
// small, lies across the pivot's way and would make a gantry stop at each vertex of a curve.
type outline struct {
	closed   bool
	elems    []element
	from, to []orb.Point // heading at the start and the end of each
}

// blend is the largest kink, radians, that is run through: where an arc is part of it, and between
// two lines.
type blend struct{ curves, lines float64 }

func newOutline(p geom.Path, b blend) outline {
	o := outline{closed: p.Closed, elems: elements(p)}
	n := len(o.elems)
	o.from, o.to = make([]orb.Point, n), make([]orb.Point, n)
	for i, e := range o.elems {
		o.from[i], o.to[i] = e.tangent(e.a), e.tangent(e.b)
	}
	for i := range n {
		j := (i + 1) % n
		if j == 0 && !o.closed {
			break
		}
		most := b.curves
		if !o.elems[i].arc && !o.elems[j].arc {
			most = b.lines
		}
		if math.Abs(turnBetween(o.to[i], o.from[j])) <= most {
			mid := geom.Unit(geom.Add(o.to[i], o.from[j]))
			o.to[i], o.from[j] = mid, mid
		}
	}
	return o
}
