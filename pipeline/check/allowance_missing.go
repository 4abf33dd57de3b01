package check

import (
	"fmt"

	"tracewheel/pipeline/pattern"
)

// allowanceMissing finds pieces with nothing to cut outside the sew line: a sew line alone for which
// neither the draft nor the ticket states a width (the workroom's own is good enough for a pen, not
// for a knife), and a sew line that lies on the cut line. One edge without allowance is warned of,
// since a bound edge has none.
func allowanceMissing(s *subject) []pattern.Finding {
	if s.p.Cut == nil && len(s.p.Sew) > 0 {
		return s.unstatedWidth()
	}
	w := s.profile()
	if w == nil {
		return nil
	}
	var bare []*edgeProfile
	measured := 0
	for i := range w.edges {
		e := &w.edges[i]
		if len(e.samples) == 0 {
			continue
		}
		measured++
		if e.base < plateau && e.edge.Allowance == nil {
			bare = append(bare, e)
		}
	}
	if len(bare) == measured && measured > 0 {
		f := s.finding(pattern.RuleAllowanceMissing, "the sew line lies on the cut line all round, so that nothing is left to sew with",
			"draw the cut line outside the sew line, or leave it out and state the allowance")
		f.At = s.middle()
		return one(f)
	}
	var out []pattern.Finding
	for _, e := range bare {
		mid := e.samples[len(e.samples)/2]
		f := s.at(pattern.RuleAllowanceMissing, mid.at,
			fmt.Sprintf("there is no allowance on %s", s.edgeWords(e)),
			"right for a bound edge; otherwise draw the cut line outside the sew line there")
		f.Severity, f.Edge = pattern.Warning, edgeName(e.edge)
		f.Stretch = stretch(e.samples)
		out = append(out, f)
	}
	return out
}

// unstatedWidth is about a sew line alone.
func (s *subject) unstatedWidth() []pattern.Finding {
	if s.p.Allowance != nil || s.lim.Allowance != nil || s.everyEdgeStated() {
		return nil
	}
	if s.lim.WorkroomAllowance != nil && !s.lim.Cuts {
		return nil
	}
	f := s.finding(pattern.RuleAllowanceMissing,
		"the piece has a sew line and no cut line, and no seam allowance is given",
		"draw the cut line, or give the width in the draft or in the ticket (allowance: 10mm)")
	f.At = s.middle()
	return one(f)
}

func (s *subject) everyEdgeStated() bool {
	for _, e := range s.p.Edges {
		if e.Allowance == nil && !e.Fold {
			return false
		}
	}
	return len(s.p.Edges) > 0
}
