package check

import (
	"fmt"

	"tracewheel/pipeline/pattern"
)

// allowanceNarrow finds stretches where the cut line comes nearer to the sew line than along the
// rest of the edge, and edges narrower than the workroom wants. Edges may differ by design - a hem
// of 40 beside a seam of 15 - but within one edge a run from 10 to 6 is a slip of the drawing.
func allowanceNarrow(s *subject) []pattern.Finding {
	w := s.profile()
	if w == nil {
		return s.statedUnwanted(pattern.RuleAllowanceNarrow)
	}
	out := s.faultFindings(pattern.RuleAllowanceNarrow, w, true)
	if lo := s.lim.AllowanceMin; lo > 0 {
		for i := range w.edges {
			if e := &w.edges[i]; len(e.samples) > 0 && !w.liesOnCut(e) && e.base < lo-plateau {
				out = append(out, s.unwanted(pattern.RuleAllowanceNarrow, e, "at least", lo))
			}
		}
	}
	return out
}

// unwanted is an edge whose width lies outside what the workroom wants: no slip, so a warning.
func (s *subject) unwanted(rule string, e *edgeProfile, bound string, want float64) pattern.Finding {
	mid := e.samples[len(e.samples)/2]
	f := s.at(rule, mid.at, fmt.Sprintf("the allowance is %s on %s; the workroom wants %s %s",
		s.say.length(e.base), s.edgeWords(e), bound, s.say.length(want)),
		"change the width of the edge, or the workroom's limits")
	f.Severity, f.Edge = pattern.Warning, edgeName(e.edge)
	f.Stretch = stretch(e.samples)
	return f
}
