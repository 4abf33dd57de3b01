package check

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// tooWide finds pieces that do not fit the device in any turn allowed: along the grain on cloth, by
// quarters on paper. A half on the fold counts opened out unless it is drawn as a half, a sew line alone with its allowance.
func tooWide(s *subject) []pattern.Finding {
	if s.lim.Width <= 0 || s.outline == nil {
		return nil
	}
	across := s.lim.Width - 2*s.lim.Margin
	along := math.Inf(1)
	if s.lim.Length > 0 {
		along = s.lim.Length - 2*s.lim.Margin
	}
	long, wide := s.extents()
	free := !s.lim.Cloth || s.p.Grain == nil
	if wide <= across && long <= along || free && long <= across && wide <= along {
		return nil
	}
	size := fmt.Sprintf("%s long and %s wide along its grain", s.say.length(long), s.say.length(wide))
	if free {
		size = fmt.Sprintf("%s by %s, whichever way it is turned", s.say.length(long), s.say.length(wide))
	}
	if s.p.FoldLine() != nil && !s.lim.Once {
		size += ", opened out at the fold"
	}
	room := s.say.length(across) + " across"
	if s.lim.Length > 0 {
		room += " and " + s.say.length(along) + " along"
	}
	f := s.finding(pattern.RuleTooWide, fmt.Sprintf("the piece is %s; the device takes %s", size, room),
		"split the piece at a seam, or send it to a wider device")
	f.At = s.middle()
	return one(f)
}

// extents are the sides of the opened-out piece along its grain and across it; without a grain,
// along y and x.
func (s *subject) extents() (along, across float64) {
	dir := orb.Point{0, 1}
	if g := s.p.Grain; g != nil && geom.Dist(g.A, g.B) > geom.Tiny {
		dir = geom.Unit(geom.Sub(g.B, g.A))
	}
	pts := s.outline.Points
	for _, fold := range s.p.Folds() {
		if s.lim.Once {
			break
		}
		m := geom.MirrorLine(fold.A, fold.B)
		pts = append(slices.Clone(pts), geom.Path{Points: pts}.Apply(m).Points...)
	}
	lo, hi := orb.Point{math.Inf(1), math.Inf(1)}, orb.Point{math.Inf(-1), math.Inf(-1)}
	for _, p := range pts {
		q := orb.Point{geom.Dot(p, dir), geom.Cross(dir, p)}
		for k := range q {
			lo[k], hi[k] = math.Min(lo[k], q[k]), math.Max(hi[k], q[k])
		}
	}
	extra := 0.0
	if s.p.Cut == nil || s.p.Cut != nil && !s.p.CutSaid && s.lim.Allowance != nil {
		extra = 2 * s.builtWidth()
	}
	return hi[0] - lo[0] + extra, hi[1] - lo[1] + extra
}

// builtWidth is the greatest allowance that will be built round a sew line alone.
func (s *subject) builtWidth() float64 {
	most := 0.0
	if w := s.wholeWidth(); w != nil {
		most = *w
	}
	for _, e := range s.p.Edges {
		if e.Allowance != nil {
			most = math.Max(most, math.Max(e.Allowance.From, e.Allowance.To))
		}
	}
	return most
}

// wholeWidth is the allowance of edges that have none of their own, nil where nobody says one.
func (s *subject) wholeWidth() *float64 {
	return cmp.Or(s.p.Allowance, s.lim.Allowance, s.lim.WorkroomAllowance)
}
