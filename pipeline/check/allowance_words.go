package check

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// mostFaults is how many stretches of one piece are told one by one.
const mostFaults = 12

// slight is what may lack of an allowance, in mm, and still be sewn: it is warned of.
const slight = 1.0

// faultFindings puts a piece's faults of one side into words.
func (s *subject) faultFindings(rule string, w *profile, narrow bool) []pattern.Finding {
	var out []pattern.Finding
	left := 0
	for _, f := range w.faults() {
		switch {
		case f.narrow != narrow:
		case len(out) == mostFaults:
			left++
		default:
			out = append(out, s.faultFinding(rule, f))
		}
	}
	if left > 0 {
		out[len(out)-1].Message += fmt.Sprintf("; so it does on %d more stretches", left)
	}
	return out
}

// faultFinding puts a fault into words.
func (s *subject) faultFinding(rule string, f fault) pattern.Finding {
	verb := "grows"
	switch {
	case f.step:
		verb = "steps"
	case f.narrow:
		verb = "shrinks"
	}
	where := s.edgeWords(f.edge)
	var message string
	if f.from.at == f.to.at {
		message = fmt.Sprintf("the allowance %s from %s to %s at the corner %s of %s", verb,
			s.say.number(f.full), s.say.length(f.worst.d), s.place(f.worst.at), where)
	} else {
		message = fmt.Sprintf("the allowance %s from %s to %s between %s and %s on %s", verb,
			s.say.number(f.full), s.say.length(f.worst.d), s.place(f.from.at), s.place(f.to.at), where)
	}
	if f.edge.edge.Allowance != nil {
		message += ", where the draft states " + s.say.length(f.want)
	}
	mend := fmt.Sprintf("redraw the cut line there %s from the sew line, or give this edge its own allowance if the taper is intended",
		s.say.length(f.full))
	out := s.at(rule, f.worst.at, message, mend)
	out.Edge = edgeName(f.edge.edge)
	out.Stretch = f.stretch
	if f.narrow && f.want-f.worst.d < slight {
		out.Severity = pattern.Warning
	}
	if f.step {
		out.Severity = pattern.Warning
		out.Mend = "right where the allowance is meant to change at once, as at a zip; otherwise " + out.Mend
	}
	if f.hem && f.narrow {
		out.Severity = pattern.Warning
		out.Mend = "right for the corner of a mitred hem; otherwise " + out.Mend
	}
	return out
}

// edgeWords names an edge, or says on which side of the piece it lies as one looks at it.
func (s *subject) edgeWords(e *edgeProfile) string {
	if name := edgeName(e.edge); name != "" {
		return fmt.Sprintf("the %q edge", name)
	}
	if len(e.samples) == 0 {
		return "an edge"
	}
	return s.sideWords(e.samples[0].at, e.samples[len(e.samples)/2].at, e.samples[len(e.samples)-1].at)
}

// sideWords says where an edge lies that runs from a by way of mid to b: an upright one is a side
// edge, a lying one the upper or lower edge, a slanting one of a corner has both words.
func (s *subject) sideWords(a, mid, b orb.Point) string {
	if s.outline == nil || geom.Dist(a, b) < 1 {
		return "the edge all round"
	}
	box := s.outline.Bound()
	c := box.Center()
	w, h := span(box)
	upright, level := "right side", "upper"
	if mid[0] < c[0] {
		upright = "left side"
	}
	if mid[1] < c[1] {
		level = "lower"
	}
	dx, dy := math.Abs(b[0]-a[0]), math.Abs(b[1]-a[1])
	switch {
	case dy >= 2*dx:
		return fmt.Sprintf("the %s edge", upright)
	case dx >= 2*dy && math.Abs(mid[1]-c[1]) > h/10:
		return fmt.Sprintf("the %s edge", level)
	case math.Abs(mid[0]-c[0]) < w/10:
		return fmt.Sprintf("the %s edge", level)
	}
	return fmt.Sprintf("the %s %s edge", level, strings.TrimSuffix(upright, " side"))
}
