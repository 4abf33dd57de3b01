package curve

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// TrueAcross lets two edges, which run away from a seam from its two ends, run on into one another when
// the legs are sewn together: each is turned by half of what the two corners miss 180 degrees. It
// gives that, in degrees.
func TrueAcross(a, b *Segment, ends, legs [2]orb.Point) float64 {
	ways := [2]orb.Point{}
	sum := 0.0
	for k, s := range []*Segment{a, b} {
		ways[k] = s.Dir(0)
		if !s.Cubic && !s.IsArc() {
			ways[k] = geom.Unit(geom.Sub(s.To, ends[k]))
		}
		sum += AngleBetween(ways[k], legs[k])
	}
	over := (sum - 180) / 2
	for k, s := range []*Segment{a, b} {
		if math.Abs(over) < 1e-7 && geom.Dist(ends[k], s.From) < 1e-9 {
			continue
		}
		way := geom.Rotate(over * math.Pi / 180 * Sign(geom.Cross(ways[k], legs[k]))).Vector(ways[k])
		far := s.Dir(1)
		if !s.Cubic && !s.IsArc() {
			far = ways[k]
		}
		*s = Pulled(ends[k], s.To, way, far, geom.Dist(ends[k], s.To)*ArmShare(way, far))
	}
	return over
}

// CarriedTo is the stretch begun elsewhere, and bent as little as may be.
func CarriedTo(s Segment, a orb.Point) Segment {
	if geom.Dist(a, s.From) < 1e-9 {
		return s
	}
	if !s.Cubic && !s.IsArc() {
		return LineSeg(a, s.To)
	}
	way, far := s.Dir(0), s.Dir(1)
	return Pulled(a, s.To, way, far, geom.Dist(a, s.To)*ArmShare(way, far))
}
