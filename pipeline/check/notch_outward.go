package check

import (
	"fmt"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// notchOutward finds notches whose stated direction leads out of the piece, or along its edge, where
// they would cut nothing. They are turned by half, or set square.
func notchOutward(s *subject) []pattern.Finding {
	var out []pattern.Finding
	for _, n := range s.notches() {
		if !n.AngleSaid {
			continue
		}
		switch in := geom.Dot(n.direction(), n.inward); {
		case in < -0.1:
			out = append(out, s.at(pattern.RuleNotchOutward, n.At,
				s.called(n)+" points out of the piece", "turn it by half in the draft; it is made pointing inward"))
		case in < 0.1:
			out = append(out, s.at(pattern.RuleNotchOutward, n.At,
				fmt.Sprintf("%s runs along the edge (direction %.0f degrees)", s.called(n), n.AngleDeg),
				"point it into the piece; it is made square to the edge"))
		}
	}
	return out
}
