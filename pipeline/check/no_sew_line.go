package check

import "tracewheel/pipeline/pattern"

// noSewLine tells of a cut line with no sew line inside: it is cut as drawn, but its allowance
// cannot be measured.
func noSewLine(s *subject) []pattern.Finding {
	if s.p.Cut == nil || !s.p.CutSaid || s.p.Included || len(s.p.Sew) > 0 {
		return nil
	}
	f := s.finding(pattern.RuleNoSewLine,
		"the piece has a cut line and no sew line, so its allowance cannot be checked",
		"no action needed if the allowance is already in the cut line; otherwise add the sew line")
	f.At = s.middle()
	return one(f)
}
