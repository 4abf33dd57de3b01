package knife

import (
	"tracewheel/devices"
	"tracewheel/geom"
)

// edgeTol is how near an end of a nick must lie to its piece's outline to be on it, mm.
const edgeTol = 0.1

// fromTheEdge reverses nicks that would be cut towards their piece's edge: cut inwards, a nick surely opens at the edge,
// and pushes the cloth against what holds it. Strokes with a fixed direction stay, and those with both ends or none on the
// edge. The given strokes are not changed.
func fromTheEdge(strokes []devices.Stroke) []devices.Stroke {
	outlines := map[int][]geom.Path{}
	for _, s := range strokes {
		if isPiece(s) {
			outlines[s.Piece] = append(outlines[s.Piece], s.Path)
		}
	}
	out := append([]devices.Stroke(nil), strokes...)
	for i, s := range out {
		n := len(s.Path.Points)
		if s.Role != "notch" || s.Path.Closed || s.Fixed || n < 2 {
			continue
		}
		starts, ends := false, false
		for _, o := range outlines[s.Piece] {
			starts = starts || o.Nearest(s.Path.Points[0]).Dist <= edgeTol
			ends = ends || o.Nearest(s.Path.Points[n-1]).Dist <= edgeTol
		}
		if ends && !starts {
			out[i].Path = s.Path.Reversed()
		}
	}
	return out
}
