package geom

// The error budget of the whole line, in millimetres. Every room that rounds, flattens or fits
// takes its share from here and from nowhere else, so that the sum stays below what section 6 of
// the design promises: 0.025 mm on a plotter, 0.05 mm along an edge under a knife.
const (
	// FlattenTol is how far a reader's chord may leave the true curve. Curves are flattened once,
	// in the reader, and never again.
	FlattenTol = 0.005

	// AllowanceTol is how far a built cut line may leave the exact parallel of the sew line.
	AllowanceTol = 0.002

	// ArcFitTol is how far an arc fitted to a smooth run by an encoder may leave its vertices.
	ArcFitTol = 0.005

	// CloseTol is the gap up to which two ends are the same point written twice: it lies well
	// above the rounding of four-decimal drafts and well below any drafting gap.
	CloseTol = 0.05

	// BridgeTol is the gap up to which a reader joins two loose ends and says so. Drafting
	// programs leave gaps of some tenths of a millimetre; a gap of 1 mm is a fault to be mended.
	BridgeTol = 0.5

	// Tiny is the length below which a segment has no direction worth believing.
	Tiny = 1e-9
)
