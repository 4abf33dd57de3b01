package check

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// outlineDoubled finds lines that lie twice in one place, which would be cut twice: an outline that
// runs back over itself, a cut-out drawn twice or on the cut line, a whole piece drawn twice.
func outlineDoubled(d *draft) []pattern.Finding {
	var out []pattern.Finding
	seen := map[string]int{}
	for _, s := range d.pieces {
		out = append(out, s.runsTwice()...)
		out = append(out, s.doubledCutouts()...)
		if s.outline == nil {
			continue
		}
		key := lineKey(s.outline)
		if s.p.Named {
			key += "|" + s.p.Name + "|" + s.p.Size
		}
		first, again := seen[key]
		if !again {
			seen[key] = s.index
			continue
		}
		f := s.at(pattern.RuleOutlineDoubled, s.outline.Points[0],
			fmt.Sprintf("the piece lies exactly on %q, which is drawn in the same place", d.p.Pieces[first].Name),
			"take one of the two out; to cut two, state the quantity")
		f.Severity = pattern.Warning
		out = append(out, f)
	}
	return out
}

func (s *subject) runsTwice() []pattern.Finding {
	if s.outline == nil {
		return nil
	}
	for _, c := range s.crossings {
		if liesOnItself(s.outline, c) {
			return one(s.at(pattern.RuleOutlineDoubled, c.At,
				fmt.Sprintf("the outline runs over itself at %s", s.place(c.At)),
				"draw that stretch once"))
		}
	}
	return nil
}

func (s *subject) doubledCutouts() []pattern.Finding {
	var out []pattern.Finding
	seen := map[string]bool{}
	if s.outline != nil {
		seen[lineKey(s.outline)] = true
	}
	for i := range s.p.Cutouts {
		c := &s.p.Cutouts[i]
		if len(c.Points) == 0 {
			continue
		}
		if key := lineKey(c); seen[key] {
			out = append(out, s.at(pattern.RuleOutlineDoubled, c.Points[0],
				fmt.Sprintf("the cut-out at %s is drawn twice, or lies on the outline", s.place(c.Points[0])),
				"take one of the two lines out"))
		} else {
			seen[key] = true
		}
	}
	return out
}

// lineKey is the same for lines with the same box, length and area to a hundredth of a millimetre,
// whatever their first point and direction.
func lineKey(line *geom.Path) string {
	b := line.Bound()
	r := func(v float64) int64 { return int64(math.Round(v * 100)) }
	p := func(p orb.Point) [2]int64 { return [2]int64{r(p[0]), r(p[1])} }
	return fmt.Sprint(p(b.Min), p(b.Max), r(line.Length()), r(line.Area()/10))
}
