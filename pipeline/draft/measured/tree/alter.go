package tree

import (
	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/curve"
)

// Alteration is what fittings made of a drawing's edges and of the points on them. The sentences of the drawing itself
// are worked out as drawn; all others, and those of pieces, seams, notches and marks, meet what is altered.
type Alteration struct {
	Edge  func(d *Definition) curve.Curve
	Point func(q orb.Point) orb.Point
}
