package geom

// The error budget from draft to device, in millimetres. Every room that rounds, flattens or fits takes its share from
// here only, so that the sum stays below section 6 of the design: 0.025 mm on a plotter, 0.05 mm along an edge under a
// knife.
const (
	// FlattenTol is how far a reader's chord may deviate from the true curve. Curves are flattened once, in the
	// reader.
	FlattenTol = 0.005

	// AllowanceTol is how far a built cut line may deviate from the exact parallel of the sew line.
	AllowanceTol = 0.002

	// ArcFitTol is how far an arc fitted to a smooth run by an encoder may deviate from its vertices.
	ArcFitTol = 0.005

	// CloseTol is the gap up to which two ends are the same point written twice: it lies well
	// above the rounding of four-decimal drafts and well below any drafting gap.
	CloseTol = 0.05

	// BridgeTol is the gap up to which a reader joins two loose ends and says so. Drafting
	// programs leave gaps of some tenths of a millimetre; a gap of 1 mm is a fault to be mended.
	BridgeTol = 0.5

	// Tiny is the length below which a segment's direction is not reliable.
	Tiny = 1e-9
)
