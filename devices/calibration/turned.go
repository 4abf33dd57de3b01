package calibration

import (
	"math"

	"tracewheel/devices"
	"tracewheel/geom"
)

// Turned is the correction for pages that lie a quarter turn on the same material: the correction along one axis is
// applied along the other, and the shear changes its sign. A rotation of the whole is left open, as everywhere here.
func Turned(c devices.Correction) devices.Correction {
	if c.IsZero() {
		return c
	}
	d := Inverse(c) // wanted to drawn
	shear := math.Atan2(d.Skew, d.ScaleY)
	return Inverse(Result{ScaleX: math.Hypot(d.Skew, d.ScaleY), ScaleY: d.ScaleX, Shear: -shear}.drawn())
}

// Drawn is the map of a device without a correction, up to a rotation of the whole: what the correction undoes.
func Drawn(c devices.Correction) geom.Affine {
	d := Inverse(c)
	return geom.Affine{A: d.ScaleX, C: d.Skew, D: d.ScaleY}
}
