package check

import "tracewheel/pipeline/pattern"

// quantityMissing tells of pieces that do not say how many are cut; one is made of them.
func quantityMissing(s *subject) []pattern.Finding {
	if s.p.Quantity > 0 {
		return nil
	}
	f := s.finding(pattern.RuleQuantityMissing, "the draft does not say how many to cut; one is made",
		"state the quantity, and whether it is a pair")
	f.At = s.middle()
	return one(f)
}
