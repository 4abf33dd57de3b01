package check

import (
	"fmt"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// outlineOpen finds pieces whose outline does not close, or that have none.
func outlineOpen(s *subject) []pattern.Finding {
	const rule = pattern.RuleOutlineOpen
	switch {
	case s.outline == nil:
		f := s.finding(rule, "the piece has no closed outline: neither a cut line nor sew lines whose ends meet",
			"draw the outline as one closed line; sew lines may stay open only at the fold")
		f.At = s.middle()
		return one(f)
	case !s.outline.Closed:
		pts := s.outline.Points
		a, b := pts[0], pts[len(pts)-1]
		which, mend := "", pattern.MendGap(geom.Dist(a, b))
		if !s.p.Named && s.p.Where != "" {
			which = " (" + s.p.Where + ")"
		}
		if s.p.Cut == s.outline && !s.p.CutSaid {
			mend += `; then give it the class or layer "cut", or "sew" if it is the sew line`
		}
		f := s.at(rule, geom.Lerp(a, b, 0.5),
			fmt.Sprintf("the outline%s does not close: its ends at %s and %s lie %s apart",
				which, s.place(a), s.place(b), s.say.length(geom.Dist(a, b))), mend)
		f.Stretch = []orb.Point{a, b}
		return one(f)
	case len(s.crossings) == 0 && s.outline.Area() <= 1:
		return one(s.at(rule, s.outline.Points[0], "the outline encloses nothing",
			"draw the outline round the piece, or give the line another role"))
	}
	return nil
}

// closed is a piece whose open cut line a straight line closes, without its notches that lie at the gap: what is wrong with
// the others is told together with the gap. It is the piece itself where that makes no sound outline.
func (s *subject) closed() *subject {
	if s.sound || s.p.Cut == nil || s.p.Cut.Closed || len(s.p.Cut.Points) < 3 {
		return s
	}
	if s.shut == nil {
		p, line := *s.p, *s.p.Cut
		line.Closed = true
		p.Cut = &line
		gap := geom.Path{Points: []orb.Point{line.Points[len(line.Points)-1], line.Points[0]}}
		p.Notches = slices.DeleteFunc(slices.Clone(p.Notches), func(n pattern.Notch) bool {
			return gap.Nearest(n.At).Dist <= s.p.Cut.Nearest(n.At).Dist+onLine
		})
		if s.shut = newSubject(&p, s.index, s.lim, s.say); !s.shut.sound {
			s.shut = s
		}
	}
	return s.shut
}
