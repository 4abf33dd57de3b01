package check

import (
	"fmt"
	"sort"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// leastApart is how near two cut notches may come, in mm: a double, which marks the back, is two nicks
// 6 to 10 mm apart (common practice).
const leastApart = 6.0

// notchesCrowded finds cut notches so near each other that the cloth between them tears out.
func notchesCrowded(s *subject) []pattern.Finding {
	var cut []notch
	for _, n := range s.notches() {
		if n.cuts() {
			cut = append(cut, n)
		}
	}
	sort.SliceStable(cut, func(i, j int) bool { return cut[i].near.S < cut[j].near.S })
	var out []pattern.Finding
	for i := 1; i < len(cut); i++ {
		a, b := cut[i-1], cut[i]
		apart := geom.Dist(a.At, b.At) - (a.Width+b.Width)/2
		if apart >= leastApart-chordRoom {
			continue
		}
		out = append(out, s.at(pattern.RuleNotchesCrowded, b.At,
			fmt.Sprintf("%s leaves %s to the next notch, less than %s", s.called(b), s.say.length(max(0, apart)), s.say.length(leastApart)),
			"take one out, or set them further apart"))
	}
	return out
}
