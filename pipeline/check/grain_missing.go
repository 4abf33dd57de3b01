package check

import "tracewheel/pipeline/pattern"

// grainMissing tells of pieces without a grain line: on cloth nobody knows then how they lie.
func grainMissing(s *subject) []pattern.Finding {
	if s.p.Grain != nil || s.outline == nil {
		return nil
	}
	f := s.finding(pattern.RuleGrainMissing, "the piece has no grain line",
		"draw one along the lengthwise thread, if the piece is cut from cloth")
	f.At = s.middle()
	return one(f)
}
