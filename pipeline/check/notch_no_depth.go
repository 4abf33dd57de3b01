package check

import (
	"fmt"

	"tracewheel/pipeline/pattern"
)

// notchNoDepth tells of notches given by their place alone: they get the workroom's depth, less
// where the allowance is narrow.
func notchNoDepth(s *subject) []pattern.Finding {
	var places []notch
	for _, n := range s.notches() {
		if n.Depth <= 0 {
			places = append(places, n)
		}
	}
	if len(places) == 0 {
		return nil
	}
	message := fmt.Sprintf("%s has no depth", s.called(places[0]))
	if len(places) > 1 {
		message = fmt.Sprintf("%d notches have no depth, the first at %s", len(places), s.place(places[0].At))
	}
	return one(s.at(pattern.RuleNotchNoDepth, places[0].At, message,
		fmt.Sprintf("no action needed if the workroom's %s will do, or half the allowance where that is less", s.say.length(s.lim.notchDepth()))))
}
