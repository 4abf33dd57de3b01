package assemble

import "tracewheel/geom"

// Fineness is the tolerance, in mm, to which readers flatten a curve of about this radius. It is
// geom.FlattenTol, but finer for small curves, whose chords would otherwise take more of a piece's
// area than the distance suggests: with chords of at most 0.03 rad a circle keeps its area to
// 1.5e-4.
func Fineness(radius float64) float64 {
	const finest = geom.FlattenTol / 50
	return min(geom.FlattenTol, max(radius*1.1e-4, finest))
}
