package knife

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// TipAlong is how far along a line the tip was, mm, while the pivot, d ahead of it, stood at a place and went in a
// direction; where dir is zero, it stood anywhere around the tip. Where the line passes there more than once, it is the
// first time: to cut twice is better than not at all. ok is false where the line does not pass there.
func TipAlong(p geom.Path, d float64, pivot, dir orb.Point) (s float64, ok bool) {
	const step, alike = 0.25, 0.15 // mm
	r := p.Ruler()
	off := func(s float64) float64 {
		pt, t := r.At(s)
		away := geom.Dist(geom.Add(pt, geom.Mul(t, d)), pivot)
		if dir != (orb.Point{}) && geom.Dot(t, dir) < 0.3 {
			away += 10 * step // the line passes there another time
		}
		return away
	}
	near := 2.2*d + 2*step
	if dir != (orb.Point{}) || d == 0 {
		best := math.Inf(1)
		for s := 0.0; s < r.Length(); s += step {
			best = min(best, off(s))
		}
		if best > near {
			return 0, false
		}
		near = best + alike
	}
	for s := 0.0; s < r.Length(); s += step {
		if off(s) <= near {
			return s, true
		}
	}
	return 0, false
}
