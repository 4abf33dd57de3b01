package check

import (
	"fmt"

	"tracewheel/pipeline/pattern"
)

// sewLineOutside finds where the sew line runs beyond the cut line: the seam would miss the cloth.
// A run that goes round corners is one finding.
func sewLineOutside(s *subject) []pattern.Finding {
	w := s.profile()
	if w == nil {
		return nil
	}
	var out []pattern.Finding
	var run []sample
	var worst sample
	var on *edgeProfile
	flush := func() {
		if len(run) == 0 {
			return
		}
		f := s.at(pattern.RuleSewLineOutside, worst.at,
			fmt.Sprintf("the sew line runs %s outside the cut line at %s on %s",
				s.say.length(worst.d), s.place(worst.at), s.edgeWords(on)),
			"check which of the two lines is the cut line, or move the cut line out")
		f.Edge, f.Stretch = edgeName(on.edge), stretch(run)
		out, run, worst = append(out, f), nil, sample{}
	}
	for i := range w.edges {
		e := &w.edges[i]
		for _, sm := range e.samples {
			if !sm.outside {
				flush()
				continue
			}
			run = append(run, sm)
			if sm.d > worst.d {
				worst, on = sm, e
			}
		}
		if e.after < 0 {
			flush()
		}
	}
	flush()
	return out
}
