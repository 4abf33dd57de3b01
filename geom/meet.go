package geom

import (
	"math"

	"github.com/paulmach/orb"
)

// MeetLines is the point where the line through a in direction u crosses the line through b in
// direction v, with its parameters: a + u s = b + v t. ok is false for parallel lines.
func MeetLines(a, u, b, v orb.Point) (at orb.Point, s, t float64, ok bool) {
	den := Cross(u, v)
	if math.Abs(den) <= 1e-14*Norm(u)*Norm(v) {
		return orb.Point{}, 0, 0, false
	}
	w := Sub(b, a)
	s, t = Cross(w, v)/den, Cross(w, u)/den
	return Add(a, Mul(u, s)), s, t, true
}

// MeetLineCircle is where the line through a and b meets the circle round c: none, one (it
// touches within Tiny) or two points, in the order from a to b.
func MeetLineCircle(a, b, c orb.Point, r float64) []orb.Point {
	u := Unit(Sub(b, a))
	if u == (orb.Point{}) || r < 0 {
		return nil
	}
	foot := Add(a, Mul(u, Dot(Sub(c, a), u)))
	h := Dist(foot, c)
	switch {
	case h > r+Tiny:
		return nil
	case h >= r-Tiny:
		return []orb.Point{foot}
	}
	l := math.Sqrt((r - h) * (r + h))
	return []orb.Point{Sub(foot, Mul(u, l)), Add(foot, Mul(u, l))}
}

// MeetCircles is where two circles meet: none, one (they touch within Tiny) or two points, the one
// to the left of the way from the first centre to the second coming first. Circles with one centre
// give none.
func MeetCircles(c1 orb.Point, r1 float64, c2 orb.Point, r2 float64) []orb.Point {
	d := Dist(c1, c2)
	if d < Tiny || r1 < 0 || r2 < 0 || d > r1+r2+Tiny || d < math.Abs(r1-r2)-Tiny {
		return nil
	}
	u := Unit(Sub(c2, c1))
	x := (d*d + (r1-r2)*(r1+r2)) / (2 * d)
	foot := Add(c1, Mul(u, x))
	if d >= r1+r2-Tiny || d <= math.Abs(r1-r2)+Tiny {
		return []orb.Point{foot}
	}
	h := Mul(Left(u), math.Sqrt(math.Max(0, (r1-x)*(r1+x))))
	return []orb.Point{Add(foot, h), Sub(foot, h)}
}

// Circle is the circle through three points. ok is false when they lie on a line.
func Circle(p, q, r orb.Point) (c orb.Point, radius float64, ok bool) {
	a, b := Sub(q, p), Sub(r, p)
	den := 2 * Cross(a, b)
	if math.Abs(den) <= 1e-14*Norm(a)*Norm(b) {
		return orb.Point{}, 0, false
	}
	a2, b2 := Dot(a, a), Dot(b, b)
	o := orb.Point{(b[1]*a2 - a[1]*b2) / den, (a[0]*b2 - b[0]*a2) / den}
	return Add(p, o), Norm(o), true
}
