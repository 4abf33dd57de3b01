package curve

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// Pulled is the cubic that leaves in direction d and arrives in direction e, unit vectors, with both arms of one length.
func Pulled(from, to, d, e orb.Point, arm float64) Segment {
	return CubicSeg(from, geom.Add(from, geom.Mul(d, arm)), geom.Sub(to, geom.Mul(e, arm)), to)
}

// Overhangs tells whether a curve turns back against one of its own ways although both lead on to its
// end: a cap drawn so comes out as a mushroom, which nobody means. Ways more than a right angle apart,
// as at an armhole that is hollowed behind its tip, are left alone.
func Overhangs(from, to, d, e orb.Point, arm float64) bool {
	u := geom.Sub(to, from)
	if geom.Dot(d, e) < 0 || geom.Dot(d, u) < 0 || geom.Dot(e, u) < 0 {
		return false
	}
	s := Pulled(from, to, d, e, arm)
	const n = 64
	for i := 1; i < n; i++ {
		w := s.Dir(float64(i) / n)
		if geom.Dot(w, d) < -1e-3 || geom.Dot(w, e) < -1e-3 {
			return true
		}
	}
	return false
}

// ArmShare is how long the arms of an even curve are, in chords: those of the arc with that turn.
func ArmShare(d, e orb.Point) float64 {
	turn := math.Abs(math.Atan2(geom.Cross(d, e), geom.Dot(d, e)))
	if turn < 1e-6 {
		return 1.0 / 3
	}
	return 2 * math.Tan(turn/4) / (3 * math.Sin(turn/2))
}

// ArmThrough finds the one length of both arms with which the curve touches a point. At parameter t
// the curve is a + b l, so that touching means a - point parallel to b; the length follows.
func ArmThrough(from, via, to, d, e orb.Point) (float64, bool) {
	parts := func(t float64) (a, b orb.Point) {
		u := 1 - t
		k0, k1, k2, k3 := u*u*u, 3*u*u*t, 3*u*t*t, t*t*t
		a = geom.Sub(geom.Add(geom.Mul(from, k0+k1), geom.Mul(to, k2+k3)), via)
		b = geom.Sub(geom.Mul(d, k1), geom.Mul(e, k2))
		return a, b
	}
	f := func(t float64) float64 { a, b := parts(t); return geom.Cross(a, b) }
	chord := geom.Dist(from, to)
	best, found := 0.0, false
	const n = 64
	for i := 1; i < n-1; i++ {
		lo, hi := float64(i)/n, float64(i+1)/n
		if f(lo)*f(hi) > 0 {
			continue
		}
		rising := f(hi) > 0
		if f(hi) == 0 {
			lo = hi
		}
		lo, _ = geom.Halve(lo, hi, 80, func(t float64) bool { return (f(t) > 0) != rising })
		a, b := parts(lo)
		l := -geom.Dot(a, b) / geom.Dot(b, b)
		if geom.Norm(geom.Add(a, geom.Mul(b, l))) > 1e-6*chord {
			continue // a change of sign that is no meeting
		}
		ideal := chord * ArmShare(d, e)
		if l > 0.02*chord && l < 1.5*chord && (!found || math.Abs(l-ideal) < math.Abs(best-ideal)) {
			best, found = l, true
		}
	}
	return best, found
}
