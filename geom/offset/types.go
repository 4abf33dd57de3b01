package offset

import "tracewheel/geom"

// CornerKind says what a cut line does where two edges of a sew line meet.
type CornerKind int

// The corner kinds of the trade. At exactly a right angle with equal widths the first three agree.
const (
	Mitred    CornerKind = iota // through the meeting point of both parallels, up to the limit
	Squared                     // the first seam's end lies edge to edge with its partner's
	Mirrored                    // turned-up allowance ends on the other cut line when folded back
	Blunted                     // mitre cut square to the bisector at the limit
	MitredHem                   // both sides turned up, cut along the line where the folds meet, plus a seam
	Stepped                     // goes across at the corner, square to the seam, from one width to the other
)

// Edge is a stretch of an outline between two corners, with the allowance outside it.
type Edge struct {
	// First is the index of the vertex at which the edge begins; it ends where the next one begins.
	First int
	// From and To are the widths in mm at its start and end, measured square to the line; the width
	// changes evenly along its length. Zero is a width (a cut on the fold); negative goes inward,
	// and then every edge of the outline must.
	From, To float64
	// Corner is what happens at the edge's start, where the edge before it ends.
	Corner CornerKind
	// SewnFirst names, for Squared and Mirrored corners, which of the two edges is sewn or turned
	// first: false is the edge that ends at the corner, true is this one.
	SewnFirst bool
	// Limit is how far from this corner, in widths, a tip may lie; 0 takes the whole outline's
	// limit. A Blunted corner is cut there, so it is where a collar point gets its own.
	Limit float64
	// Seam is the allowance beyond the line of a MitredHem in mm; 0 takes MitredHemSeam.
	Seam float64
}

// MitredHemSeam is the allowance in mm along a hem's mitre where none is given: 6 mm, what enclosed
// seams get in pattern-making courses.
const MitredHemSeam = 6

// Ring is one closed line of a result. Edge[i] is the index of the Edge from which the
// stretch from vertex i to the next one came, or -1 where it bridges two edges (a step).
type Ring struct {
	Path geom.Path
	Edge []int
	Hole bool
}
