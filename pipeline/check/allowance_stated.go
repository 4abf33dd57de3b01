package check

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/pattern"
)

// statedUnwanted finds widths outside what the workroom wants that are stated for a sew line, from which
// the cut line is built later, as of a measured draft: all: 15 in a draft in cm is 150 mm. Edges of one width
// are told together. An edge that is stated to have none is meant so.
func (s *subject) statedUnwanted(rule string) []pattern.Finding {
	lo, hi := s.lim.AllowanceMin, s.lim.AllowanceMax
	if s.p.Cut != nil || len(s.p.Sew) == 0 {
		return nil
	}
	line := &s.p.Sew[0]
	ruler := line.Ruler()
	starts := line.Starts()
	edges := s.p.EdgesOf(line)
	type widths struct {
		said  string
		at    orb.Point // the middle of the first edge
		names []string
	}
	var found []widths
	want, bound := hi, "at most"
	if rule == pattern.RuleAllowanceNarrow {
		want, bound = lo, "at least"
	}
	for i, e := range edges {
		w := stated(s.p, e)
		width := math.Max(w.From, w.To)
		if rule == pattern.RuleAllowanceNarrow {
			width = math.Min(w.From, w.To)
			if width <= 0 || width >= lo-plateau {
				continue
			}
		} else if hi <= 0 || width <= hi+plateau {
			continue
		}
		said := s.say.length(width)
		if k := slices.IndexFunc(found, func(w widths) bool { return w.said == said }); k >= 0 {
			found[k].names = append(found[k].names, edgeName(e))
			continue
		}
		from, to := starts[e.First], ruler.Length()
		if next := edges[(i+1)%len(edges)]; next.First > e.First {
			to = starts[next.First]
		} else if line.Closed {
			to += starts[next.First]
		}
		at, _ := ruler.At(ruler.Within((from + to) / 2))
		found = append(found, widths{said, at, []string{edgeName(e)}})
	}
	var out []pattern.Finding
	for _, w := range found {
		f := s.at(rule, w.at, fmt.Sprintf("the draft states an allowance of %s on %s; the workroom wants %s %s", w.said, edgesWords(w.names), bound, s.say.length(want)),
			"check that the width is in the draft's unit; change it there, or change the workroom's limits")
		f.Severity = pattern.Warning
		if len(w.names) == 1 {
			f.Edge = w.names[0]
		}
		out = append(out, f)
	}
	return out
}

// stated is the width that is stated for an edge.
func stated(p *pattern.Piece, e pattern.Edge) pattern.Width {
	switch {
	case e.Fold:
	case e.Allowance != nil:
		return *e.Allowance
	case p.Allowance != nil:
		return pattern.Width{From: *p.Allowance, To: *p.Allowance}
	}
	return pattern.Width{}
}

// edgesWords lists edges by name, or counts them where one has none.
func edgesWords(names []string) string {
	switch {
	case slices.Contains(names, ""):
		return pattern.Count(len(names), "edge")
	case len(names) == 1:
		return fmt.Sprintf("the %q edge", names[0])
	default:
		return "the edges " + pattern.AndList(names)
	}
}
