package geom

import "github.com/paulmach/orb"

// ArcCentre moves a centre c, known to about the right place, onto the bisector of the chord from a
// to b, so that both ends lie equally far from it. Where a and b agree it is c.
func ArcCentre(a, b, c orb.Point) orb.Point {
	u := Unit(Sub(b, a))
	off := Dot(Sub(c, Lerp(a, b, 0.5)), u)
	return Sub(c, Mul(u, off))
}
