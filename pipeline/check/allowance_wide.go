package check

import "tracewheel/pipeline/pattern"

// allowanceWide finds stretches where the cut line leaves the sew line further than along the rest
// of the edge, and edges wider than the workroom wants. Too wide wastes cloth and misleads whoever
// sews by the edge, but can be trimmed.
func allowanceWide(s *subject) []pattern.Finding {
	w := s.profile()
	if w == nil {
		return s.statedUnwanted(pattern.RuleAllowanceWide)
	}
	out := s.faultFindings(pattern.RuleAllowanceWide, w, false)
	if hi := s.lim.AllowanceMax; hi > 0 {
		for i := range w.edges {
			if e := &w.edges[i]; len(e.samples) > 0 && e.base > hi+plateau {
				out = append(out, s.unwanted(pattern.RuleAllowanceWide, e, "at most", hi))
			}
		}
	}
	return out
}
