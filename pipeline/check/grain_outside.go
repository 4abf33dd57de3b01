package check

import (
	"fmt"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// grainOutside finds grain lines that leave their piece: drawn where nothing is, or those of another
// piece.
func grainOutside(s *subject) []pattern.Finding {
	g := s.p.Grain
	if g == nil || !s.sound {
		return nil
	}
	const steps = 16
	edge := cutLine{runs: []geom.Path{*s.outline}, index: s.onOutline.Follow(), ccw: s.ccw}
	for k := range steps + 1 {
		p := geom.Lerp(g.A, g.B, float64(k)/steps)
		if sm := edge.at(p, orb.Point{}, 0); !sm.outside || sm.d < plateau {
			continue
		}
		f := s.at(pattern.RuleGrainOutside, p,
			fmt.Sprintf("the grain line from %s to %s leaves the piece at %s", s.place(g.A), s.place(g.B), s.place(p)),
			"draw the grain line inside the piece it belongs to")
		f.Stretch = []orb.Point{g.A, g.B}
		return one(f)
	}
	return nil
}
