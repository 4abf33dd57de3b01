package pattern

// missingEdge is from how wide a gap on an edge is missing rather than two ends drawn a little apart, mm.
const missingEdge = 5

// MendGap is what mends an outline whose ends lie so far apart, mm.
func MendGap(apart float64) string {
	if apart < missingEdge {
		return "bring the two ends together"
	}
	return "draw the edge that is missing between the two ends, or bring them together"
}
