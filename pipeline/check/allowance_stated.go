package check

import (
	"fmt"
	"math"

	"tracewheel/pipeline/pattern"
)

// statedUnwanted finds widths outside what the workroom wants that are stated for a sew line, from which
// the cut line is built later, as of a measured draft: all: 15 in a draft in cm is 150 mm. An edge that is
// stated to have none is meant so.
func (s *subject) statedUnwanted(rule string) []pattern.Finding {
	lo, hi := s.lim.AllowanceMin, s.lim.AllowanceMax
	if s.p.Cut != nil || len(s.p.Sew) == 0 {
		return nil
	}
	line := &s.p.Sew[0]
	ruler := line.Ruler()
	starts := line.Starts()
	edges := s.p.EdgesOf(line)
	var out []pattern.Finding
	for i, e := range edges {
		var w pattern.Width
		switch {
		case e.Fold:
		case e.Allowance != nil:
			w = *e.Allowance
		case s.p.Allowance != nil:
			w = pattern.Width{From: *s.p.Allowance, To: *s.p.Allowance}
		}
		width, bound, want := math.Max(w.From, w.To), "at most", hi
		if rule == pattern.RuleAllowanceNarrow {
			width, bound, want = math.Min(w.From, w.To), "at least", lo
			if width <= 0 || width >= lo-plateau {
				continue
			}
		} else if hi <= 0 || width <= hi+plateau {
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
		f := s.at(rule, at, fmt.Sprintf("the draft states an allowance of %s on %s; the workroom wants %s %s",
			s.say.length(width), where, bound, s.say.length(want)),
			"look whether the width is in the draft's unit; change the width of the edge, or the workroom's limits")
		f.Severity, f.Edge = pattern.Warning, edgeName(e)
		out = append(out, f)
	}
	return out
}
