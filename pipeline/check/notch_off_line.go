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
		if far := s.fromCut(n); far > pattern.NotchReach {
			out = append(out, s.at(pattern.RuleNotchOffLine, n.At,
				fmt.Sprintf("%s lies %s from the cut line, too far to be carried out to it, and is not made", s.called(n), s.say.length(far)),
				"make the allowance there at most "+s.say.length(pattern.NotchReach)))
			continue
		}
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
			"move it onto the line; otherwise it is made at the nearest place, "+s.place(n.near.Point)))
	}
	return out
}

// fromCut is how far a notch on the sew line lies from the cut line, drawn or to be built of stated
// widths; 0 for a notch elsewhere or where nobody knows.
func (s *subject) fromCut(n notch) float64 {
	if !n.OnSew {
		return 0
	}
	if s.p.Cut != nil {
		return n.near.Dist
	}
	edges := s.p.EdgesOf(s.outline)
	e := edges[len(edges)-1] // the last one runs over the start
	for _, x := range edges {
		if x.First <= n.near.Segment {
			e = x
		}
	}
	if e.Allowance != nil {
		return min(e.Allowance.From, e.Allowance.To)
	}
	if s.p.Allowance != nil && !e.Fold {
		return *s.p.Allowance
	}
	return 0
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
