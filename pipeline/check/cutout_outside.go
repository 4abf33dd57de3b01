package check

import (
	"fmt"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// cutoutOutside finds cut-outs that leave their piece: the knife would cut its edge, or a neighbour.
// On a half piece a cut-out may reach over the fold, since it is opened out with the piece.
func cutoutOutside(s *subject) []pattern.Finding {
	if !s.sound {
		return nil
	}
	var out []pattern.Finding
	edge := cutLine{runs: []geom.Path{*s.outline}, index: s.onOutline.Follow(), ccw: s.ccw}
	onFold := func(p orb.Point) bool {
		return slices.ContainsFunc(s.p.Folds(), func(f pattern.Segment) bool { return f.Holds(p, p) })
	}
	for i := range s.p.Cutouts {
		worst := sample{}
		for _, p := range s.p.Cutouts[i].Points {
			sm := edge.at(p, orb.Point{}, 0)
			if sm.outside && sm.d > worst.d && !onFold(sm.cut) {
				worst = sm
			}
		}
		if worst.d > plateau {
			f := s.at(pattern.RuleCutoutOutside, worst.at,
				fmt.Sprintf("the cut-out at %s reaches %s out of the piece", s.place(worst.at), s.say.length(worst.d)),
				"move it inside, or give it to the piece it belongs to")
			f.Stretch = append([]orb.Point(nil), s.p.Cutouts[i].Points...)
			out = append(out, f)
		}
	}
	return out
}
