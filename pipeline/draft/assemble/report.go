package assemble

import (
	"fmt"
	"maps"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/pattern"
)

// report gathers what is to be told. Things left out are counted by kind, so that a thousand stray
// lines make one finding.
type report struct {
	findings []pattern.Finding
	left     map[string]*leftOut
}

type leftOut struct {
	kind, why, mend string
	count           int
	drawn           bool // it is drawn, but never cut
	shapes          bool // its role decides what is cut
	where           string
	line            int
	at              *orb.Point
}

func (r *report) add(f pattern.Finding) { r.findings = append(r.findings, f) }

// leave counts something that is not used. kind says what it is in the singular.
func (r *report) leave(kind, why, mend string, it *Item) { r.entry(kind, why, mend, it) }

// leaveDrawn counts something that a pen draws and no knife cuts, because nothing says what it is.
func (r *report) leaveDrawn(kind, why, mend string, it *Item) {
	r.entry(kind, why, mend, it).drawn = true
}

func (r *report) entry(kind, why, mend string, it *Item) *leftOut {
	if r.left == nil {
		r.left = map[string]*leftOut{}
	}
	l, ok := r.left[kind]
	if !ok {
		l = &leftOut{kind: kind, why: why, mend: mend}
		r.left[kind] = l
	}
	l.count++
	l.shapes = l.shapes || it.Role.Shapes()
	if l.at == nil || it.Line > 0 && it.Line < l.line {
		l.where, l.line = it.Where, it.Line
		if p, ok := it.place(); ok {
			l.at = pattern.Place(p)
		}
	}
	return l
}

// place is somewhere on the item.
func (it *Item) place() (orb.Point, bool) {
	switch {
	case it.Diameter > 0:
		return it.Centre, true
	case len(it.Path.Points) == 0:
		return orb.Point{}, false
	}
	return it.Path.Points[len(it.Path.Points)/2], true
}

// all gives the findings, those about things left out last, in the order of their kinds.
func (r *report) all() []pattern.Finding {
	for _, k := range slices.Sorted(maps.Keys(r.left)) {
		l := r.left[k]
		done := "left out"
		if l.drawn {
			done = "drawn by a pen, never cut"
		}
		text := fmt.Sprintf("%s: %d %s, %s", l.kind, l.count, done, l.why)
		if l.count == 1 {
			text = fmt.Sprintf("%s %s: %s", l.kind, done, l.why)
			if l.where != "" {
				text += " (" + l.where + ")"
			}
		} else if l.where != "" {
			text += fmt.Sprintf(" (the first is %s)", l.where)
		}
		f := pattern.NewFinding(pattern.RuleLeftOut, text, l.mend)
		f.At, f.Line = l.at, l.line
		if l.shapes {
			f.Severity = pattern.Warning
		}
		r.add(f)
	}
	return r.findings
}
