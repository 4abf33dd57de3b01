package check

import (
	"fmt"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// notchOffLine finds notches that lie neither on the cut line nor, where they are to be carried
// out from it, on the sew line. They are made at the nearest place of the cut line.
func notchOffLine(s *subject) []pattern.Finding {
	var out []pattern.Finding
	for _, n := range s.notches() {
		dist, line := n.near.Dist, "the cut line"
		if n.OnSew {
			dist, line = s.toSew(n), "the sew line"
		} else if s.p.Cut == nil {
			line = "the sew line"
		}
		if dist <= onLine {
			continue
		}
		out = append(out, s.at(pattern.RuleNotchOffLine, n.At,
			fmt.Sprintf("%s lies %s off %s", s.called(n), s.say.length(dist), line),
			"move it onto the line; otherwise it is made at the nearest place, "+s.say.place(n.near.Point)))
	}
	return out
}

func (s *subject) toSew(n notch) float64 {
	if w := s.profile(); w != nil {
		_, sew := w.sew.Nearest(n.At)
		return sew.Dist
	}
	least := n.near.Dist
	for _, line := range s.p.Sew {
		if near := line.Nearest(n.At); len(line.Points) > 0 && near.Dist < least {
			least = near.Dist
		}
	}
	return max(0, least-geom.Tiny)
}
