package gcode

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// checkPlace refuses a place outside the bed, before or after the correction, once a stroke.
func (e *encoder) checkPlace(i int, m devices.Motion, to orb.Point) {
	slack := 0.5 / e.out.grid
	for k, q := range []orb.Point{to, e.adjust.Apply(to)} {
		if q[0] >= -slack && q[1] >= -slack && q[1] <= e.p.Width+slack &&
			(e.p.Length == 0 || q[0] <= e.p.Length+slack) {
			continue
		}
		if e.outside {
			return
		}
		e.outside = true
		why := ""
		if k == 1 {
			why = " once calibrated"
		}
		e.fault(i, m, "(%.2f, %.2f) lies outside the bed of %.0f by %.0f mm%s; move the pieces inwards",
			q[0], q[1], e.p.Length, e.p.Width, why)
		return
	}
}

// checkRound refuses an arc that leaves the bed, and one that is no arc.
func (e *encoder) checkRound(i int, m devices.Motion) {
	e.checkPlace(i, m, m.To)
	r0, r1 := geom.Dist(e.truly, m.Centre), geom.Dist(m.To, m.Centre)
	if math.Abs(r0-r1) > 0.01+0.001*r0 {
		e.fault(i, m, "an arc's ends lie %.3f and %.3f mm from its centre", r0, r1)
		return
	}
	sweep := sweepOf(e.truly, m.To, m.Centre, m.CCW)
	start := math.Atan2(e.truly[1]-m.Centre[1], e.truly[0]-m.Centre[0])
	for q := -8; q <= 8; q++ { // the points where it runs parallel to an axis
		a := float64(q) * math.Pi / 2
		if t := (a - start) / sweep; t > 0 && t < 1 {
			e.checkPlace(i, m, geom.Add(m.Centre, orb.Point{r0 * math.Cos(a), r0 * math.Sin(a)}))
		}
	}
}
