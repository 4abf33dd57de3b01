package calibration

import (
	"math"

	"tracewheel/devices"
	"tracewheel/geom"
)

// Turned is the correction for pages that lie a quarter turn on the same material: the correction along one axis is along
// the other, and the corner that was too sharp is too wide. A turn of the whole besides is left open, as everywhere
// here.
func Turned(c devices.Correction) devices.Correction {
	if c.IsZero() {
		return c
	}
	d := Inverse(c) // wanted to drawn
	shear := math.Atan2(d.Skew, d.ScaleY)
	return Inverse(Result{ScaleX: math.Hypot(d.Skew, d.ScaleY), ScaleY: d.ScaleX, Shear: -shear}.drawn())
}

// Drawn is where a device draws what it is sent without a correction, up to a turn of the whole: what the correction
// undoes.
func Drawn(c devices.Correction) geom.Affine {
	d := Inverse(c)
	return geom.Affine{A: d.ScaleX, C: d.Skew, D: d.ScaleY}
}
