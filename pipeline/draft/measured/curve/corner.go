package curve

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// TurnAt is by how much a chain of points turns at the point i, in radians, without a sign.
func TurnAt(pts []orb.Point, i int) float64 {
	u, v := geom.Sub(pts[i], pts[i-1]), geom.Sub(pts[i+1], pts[i])
	return math.Abs(math.Atan2(geom.Cross(u, v), geom.Dot(u, v)))
}

// Softened is a chain of lines whose corners are arcs, each of which begins and ends cuts[i] from its corner.
func Softened(pts []orb.Point, cuts []float64) Curve {
	var out Curve
	at := pts[0]
	line := func(to orb.Point) {
		if geom.Dist(at, to) > 1e-7 {
			out = append(out, LineSeg(at, to))
			at = to
		}
	}
	for i := 1; i < len(pts)-1; i++ {
		turn := TurnAt(pts, i)
		if cuts[i] == 0 || turn < 1e-9 {
			line(pts[i])
			continue
		}
		u, v := geom.Unit(geom.Sub(pts[i], pts[i-1])), geom.Unit(geom.Sub(pts[i+1], pts[i]))
		a, b := geom.Sub(pts[i], geom.Mul(u, cuts[i])), geom.Add(pts[i], geom.Mul(v, cuts[i]))
		line(a)
		r := cuts[i] / math.Tan(turn/2)
		n := geom.Left(u)
		if geom.Cross(u, v) < 0 {
			n = geom.Mul(n, -1)
		}
		out = append(out, ArcSeg(at, b, geom.Add(a, geom.Mul(n, r))))
		at = b
	}
	line(pts[len(pts)-1])
	return out
}

// ArcVia is the arc round c from a to b on which via lies.
func ArcVia(a, via, b, c orb.Point) Segment {
	s := ArcSeg(a, b, c)
	if (geom.Cross(geom.Sub(b, a), geom.Sub(via, a)) > 0) == (s.Sweep > 0) {
		// The short way lies to the other side of the chord than the point.
		if s.Sweep > 0 {
			s.Sweep -= 2 * math.Pi
		} else {
			s.Sweep += 2 * math.Pi
		}
	}
	return s
}

// Sign is -1 for what is below nought, else 1.
func Sign(v float64) float64 {
	if v < 0 {
		return -1
	}
	return 1
}
