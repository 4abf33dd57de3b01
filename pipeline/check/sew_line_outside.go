package check

import (
	"fmt"

	"tracewheel/pipeline/pattern"
)

// sewLineOutside finds where the sew line runs beyond the cut line: the seam would miss the cloth.
func sewLineOutside(s *subject) []pattern.Finding {
	w := s.profile()
	if w == nil {
		return nil
	}
	var out []pattern.Finding
	for i := range w.edges {
		e := &w.edges[i]
		for k := 0; k < len(e.samples); k++ {
			if !e.samples[k].outside {
				continue
			}
			first, worst := k, e.samples[k]
			for k < len(e.samples) && e.samples[k].outside {
				if e.samples[k].d > worst.d {
					worst = e.samples[k]
				}
				k++
			}
			f := s.at(pattern.RuleSewLineOutside, worst.at,
				fmt.Sprintf("the sew line runs %s outside the cut line at %s on %s",
					s.say.length(worst.d), s.say.place(worst.at), s.edgeWords(e)),
				"check which of the two lines is the cut line, or move the cut line out")
			f.Edge = edgeName(e.edge)
			for j := max(first-1, 0); j < min(k+1, len(e.samples)); j++ {
				f.Stretch = append(f.Stretch, e.samples[j].at)
			}
			out = append(out, f)
		}
	}
	return out
}
