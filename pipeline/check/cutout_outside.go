package check

import (
	"fmt"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// cutoutOutside finds cut-outs that leave their piece: the knife would cut its edge, or a neighbour.
// On a half piece a cut-out may reach over the fold, since it is opened out with the piece. A buttonhole that is cut stays
// clear of the seams as well.
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
		for _, p := range s.crossed(s.p.Cutouts[i]) {
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
			continue
		}
		out = append(out, s.cutInSeam(s.p.Cutouts[i])...)
	}
	return out
}

// cutInSeam finds an opening that the seam runs into. A line that is cut is a buttonhole in a measured draft, whose points
// have letters; drawn otherwise it may be a slit that begins at an edge.
func (s *subject) cutInSeam(line geom.Path) []pattern.Finding {
	w := s.sewnLine()
	var f pattern.Finding
	switch {
	case !line.Closed && len(s.p.Points) > 0:
		text, mend, at, spoils := s.buttonholeFault(w, "the cut buttonhole", line)
		if text == "" {
			return nil
		}
		f = s.at(pattern.RuleCutoutOutside, at, text, mend)
		if !spoils {
			f.Severity = pattern.Warning
		}
	case !line.Closed:
		text, mend := s.slitFault(w, "the cut line", line)
		if text == "" {
			return nil
		}
		f = s.at(pattern.RuleCutoutOutside, line.Points[0], text, mend)
	default:
		gap, at := w.leastGap(line)
		if gap >= -plateau {
			return nil
		}
		f = s.at(pattern.RuleCutoutOutside, at,
			fmt.Sprintf("the cut-out reaches %s beyond the seam line at %s", s.say.length(-gap), s.place(at)), "move it inside the seam line")
	}
	f.Stretch = append([]orb.Point(nil), line.Points...)
	return one(f)
}
