package geom

import (
	"math"

	"github.com/paulmach/orb"
)

// Affine maps (x, y) to (A x + C y + E, B x + D y + F), the order of SVG's matrix(a b c d e f).
type Affine struct{ A, B, C, D, E, F float64 }

// Identity leaves every point where it is.
var Identity = Affine{A: 1, D: 1}

// Translate moves by (x, y) mm.
func Translate(x, y float64) Affine { return Affine{A: 1, D: 1, E: x, F: y} }

// Scale scales about the origin.
func Scale(x, y float64) Affine { return Affine{A: x, D: y} }

// Rotate turns counter-clockwise about the origin by an angle in radians. Quarter turns are exact.
func Rotate(angle float64) Affine {
	s, c := math.Sincos(angle)
	if q := angle / (math.Pi / 2); math.Abs(q-math.Round(q)) < 1e-12 {
		s, c = math.Round(s), math.Round(c)
	}
	return Affine{A: c, B: s, C: -s, D: c}
}

// MirrorLine reflects in the line through a and b. Where a and b agree it is the identity.
func MirrorLine(a, b orb.Point) Affine {
	u := Unit(Sub(b, a))
	if u == (orb.Point{}) {
		return Identity
	}
	c, s := u[0]*u[0]-u[1]*u[1], 2*u[0]*u[1]
	m := Affine{A: c, B: s, C: s, D: -c}
	at := m.Apply(a)
	m.E, m.F = a[0]-at[0], a[1]-at[1]
	return m
}

// Apply maps one point.
func (m Affine) Apply(p orb.Point) orb.Point {
	return orb.Point{m.A*p[0] + m.C*p[1] + m.E, m.B*p[0] + m.D*p[1] + m.F}
}

// Vector maps a direction: the translation is left out.
func (m Affine) Vector(v orb.Point) orb.Point {
	return orb.Point{m.A*v[0] + m.C*v[1], m.B*v[0] + m.D*v[1]}
}

// After is the map that does n first and then m.
func (m Affine) After(n Affine) Affine {
	return Affine{
		A: m.A*n.A + m.C*n.B, B: m.B*n.A + m.D*n.B,
		C: m.A*n.C + m.C*n.D, D: m.B*n.C + m.D*n.D,
		E: m.A*n.E + m.C*n.F + m.E, F: m.B*n.E + m.D*n.F + m.F,
	}
}

// Det is the area factor, negative where the map mirrors.
func (m Affine) Det() float64 { return m.A*m.D - m.B*m.C }

// Inverse undoes the map; ok is false where it flattens the plane.
func (m Affine) Inverse() (inv Affine, ok bool) {
	d := m.Det()
	if d == 0 || math.IsNaN(d) || math.IsInf(d, 0) {
		return Identity, false
	}
	inv = Affine{A: m.D / d, B: -m.B / d, C: -m.C / d, D: m.A / d}
	t := inv.Apply(orb.Point{m.E, m.F})
	inv.E, inv.F = -t[0], -t[1]
	return inv, true
}
