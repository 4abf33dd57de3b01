package curve

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// AngleBetween is the angle between two directions in degrees, 0 to 180.
func AngleBetween(u, v orb.Point) float64 {
	return math.Abs(math.Atan2(geom.Cross(u, v), geom.Dot(u, v))) * 180 / math.Pi
}

// PlaceAt is the place at a length from the start.
func (c Curve) PlaceAt(l float64) Place {
	for i, s := range c {
		n := s.Length()
		if l <= n || i == len(c)-1 {
			return Place{i, s.AtLength(math.Min(l, n))}
		}
		l -= n
	}
	return Place{}
}

// NearestOn is the length along a curve at which a point lies on it, -1 where it does not.
func NearestOn(c Curve, q orb.Point) float64 {
	l, _ := OnWithin(c, q, 1e-3)
	return l
}

// OnWithin is the length along a curve, and the place on it, of a point that lies no further than within from it; -1 where it lies
// further.
func OnWithin(c Curve, q orb.Point, within float64) (l float64, at orb.Point) {
	before := 0.0
	for i := 0; i < len(c); {
		pts := []orb.Point{c[i].From}
		k := i
		for ; k < len(c) && geom.Dist(c[k].From, pts[len(pts)-1]) < 1e-6; k++ { // up to the mouth of a dart
			pts = c[k].Flatten(pts, 1e-4)
		}
		if near := (geom.Path{Points: pts}).Nearest(q); near.Dist <= within {
			return before + near.S, near.Point
		}
		before += c[i:k].Length()
		i = k
	}
	return -1, q
}

// Before tells whether a place lies before another on the same curve.
func Before(p, q Place) bool { return p.Index < q.Index || p.Index == q.Index && p.T < q.T }
