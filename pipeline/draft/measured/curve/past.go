package curve

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// Past is how far a stretch runs past both its ends, seen square to the way in which it leaves, or arrives where atEnd is
// true: on the side of that end's tangent that is turned away from the other end. Beyond is that direction.
func (s Segment) Past(atEnd bool) (by float64, beyond orb.Point) {
	const n = 64
	at, to, way := s.From, s.To, s.Dir(0)
	if atEnd {
		at, to, way = s.To, s.From, s.Dir(1)
	}
	beyond = geom.Left(way)
	if geom.Dot(beyond, geom.Sub(to, at)) > 0 {
		beyond = geom.Mul(beyond, -1)
	}
	side := func(q orb.Point) float64 { return geom.Dot(beyond, geom.Sub(q, at)) }
	if s.Cubic && math.Max(side(s.h1), side(s.h2)) <= 1e-12 {
		return 0, beyond // a cubic lies within the hull of its four points
	}
	for i := 1; i < n; i++ {
		by = math.Max(by, side(s.At(float64(i)/n)))
	}
	return by, beyond
}

// WaysMeet is where the way in which a stretch leaves meets the one in which it arrives; ok is false where they do not meet
// on its course.
func (s Segment) WaysMeet() (at orb.Point, ok bool) {
	d, e, chord := s.Dir(0), s.Dir(1), geom.Sub(s.To, s.From)
	turn := geom.Cross(d, e)
	if math.Abs(turn) < 1e-6 {
		return at, false
	}
	a, b := geom.Cross(chord, e)/turn, geom.Cross(d, chord)/turn
	return geom.Add(s.From, geom.Mul(d, a)), a > 0 && b > 0
}

// EvenArms tells of a cubic with both arms of one length, as it is drawn where only its ways are told.
func (s Segment) EvenArms() bool {
	a, b := geom.Dist(s.From, s.h1), geom.Dist(s.To, s.h2)
	return s.Cubic && math.Abs(a-b) < 1e-6*(a+b)
}
