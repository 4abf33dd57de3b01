package check

import (
	"strings"

	"tracewheel/pipeline/pattern"
)

// labelMissing tells of pieces without a name: on the table nobody knows what they are.
func labelMissing(s *subject) []pattern.Finding {
	if s.p.Named && strings.TrimSpace(s.p.Name) != "" {
		return nil
	}
	f := s.finding(pattern.RuleLabelMissing, "the piece has no name", "name it in the draft, by side, place and piece")
	f.At = s.middle()
	return one(f)
}
