package check

import (
	"fmt"
	"math"

	"tracewheel/pipeline/pattern"
)

// allowanceWide finds stretches where the cut line leaves the sew line further than along the rest
// of the edge, and edges wider than the workroom wants. Too wide wastes cloth and misleads whoever
// sews by the edge, but can be trimmed.
func allowanceWide(s *subject) []pattern.Finding {
	w := s.profile()
	if w == nil {
		return s.statedTooWide()
	}
	out := s.faultFindings(pattern.RuleAllowanceWide, w, false)
	if hi := s.lim.AllowanceMax; hi > 0 {
		for i := range w.edges {
			if e := &w.edges[i]; len(e.samples) > 0 && e.base > hi+plateau {
				out = append(out, s.unwanted(pattern.RuleAllowanceWide, e, "at most", hi))
			}
		}
	}
	return out
}

// statedTooWide finds widths that are stated for a sew line, from which the cut line is built later, as
// of a measured draft: all: 15 in a draft in cm is 150 mm.
func (s *subject) statedTooWide() []pattern.Finding {
	hi := s.lim.AllowanceMax
	if hi <= 0 || s.p.Cut != nil || len(s.p.Sew) == 0 {
		return nil
	}
	line := &s.p.Sew[0]
	ruler := line.Ruler()
	starts := line.Starts()
	edges := s.p.EdgesOf(line)
	var out []pattern.Finding
	for i, e := range edges {
		width := 0.0
		switch {
		case e.Fold:
		case e.Allowance != nil:
			width = math.Max(e.Allowance.From, e.Allowance.To)
		case s.p.Allowance != nil:
			width = *s.p.Allowance
		}
		if width <= hi+plateau {
			continue
		}
		from, to := starts[e.First], ruler.Length()
		if next := edges[(i+1)%len(edges)]; next.First > e.First {
			to = starts[next.First]
		} else if line.Closed {
			to += starts[next.First]
		}
		at, _ := ruler.At(ruler.Within((from + to) / 2))
		where := "one edge"
		if n := edgeName(e); n != "" {
			where = fmt.Sprintf("the %q edge", n)
		}
		f := s.at(pattern.RuleAllowanceWide, at, fmt.Sprintf("the draft states an allowance of %s on %s; the workroom wants at most %s",
			s.say.length(width), where, s.say.length(hi)),
			"look whether the width is in the draft's unit; change the width of the edge, or the workroom's limits")
		f.Severity, f.Edge = pattern.Warning, edgeName(e)
		out = append(out, f)
	}
	return out
}
