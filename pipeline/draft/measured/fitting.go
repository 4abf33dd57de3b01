package measured

import (
	"slices"
	"sort"
	"strings"
	"time"

	yaml "go.yaml.in/yaml/v4"
)

// change is what a fitting altered for one wearer, kept on the card so that the style stays clean:
// "let out: 0.6 more" of a measure or of one of the draft's numbers.
type change struct {
	date string
	name string
	by   float64
	s    *sentence // the name, for a fault's place
}

// readChanges reads a card's fittings, by date. unit is what one of the card's is in the draft's.
func (e *engine) readChanges(doc *document, n *yaml.Node, unit float64) {
	for _, day := range e.entriesIn(doc, n) {
		if _, err := time.Parse(time.DateOnly, day.key); err != nil {
			e.faults = append(e.faults, Fault{File: doc.name, Line: day.keyNode.Line, Column: day.keyNode.Column,
				Text: quote(day.key) + " is no date of a fitting", Mend: "write it as 2026-10-31"})
			continue
		}
		for _, x := range e.entriesIn(doc, day.node) {
			if x.s == nil {
				e.faults = append(e.faults, Fault{File: doc.name, Line: x.keyNode.Line, Column: x.keyNode.Column, Text: quote(x.key) + " wants a length", Mend: "say 0.6 more, or 0.6 less"})
				continue
			}
			e.try(func() {
				p := newParser(x.s, newScope(e, nil, ""))
				c := change{date: day.key, name: x.key, by: p.sum() * unit, s: newSentence(x.keyNode, doc.src, doc.name)}
				switch p.takeAny("more", "less") {
				case "less":
					c.by = -c.by
				case "":
					p.fail(p.i, "whether that is more or less is not said", "say more or less behind the length")
				}
				p.end()
				e.changes = append(e.changes, c)
			})
		}
	}
	sort.SliceStable(e.changes, func(i, j int) bool { return e.changes[i].date < e.changes[j].date })
}

// applyChanges adds the fittings' changes to the measures and numbers they name.
func (e *engine) applyChanges() {
	for _, c := range e.changes {
		d, ok := e.top.defs[c.name]
		if !ok {
			e.faults = append(e.faults, Fault{File: c.s.file, Line: c.s.lines[0], Column: c.s.cols[0],
				Text: quote(c.name) + ", changed at the fitting of " + c.date + ", is no measure or number of this draft",
				Mend: nearest(c.name, e.top.order)})
			continue
		}
		if d.state != 2 {
			d.add += c.by // a number, worked out later
			continue
		}
		for _, other := range e.top.defs { // a measure, also by its other name
			if other.s == d.s {
				other.n += c.by
			}
		}
		for i := range e.measures {
			if e.measures[i].s == d.s {
				e.measures[i].value += c.by
			}
		}
	}
}

// fittings lists the dates of the fittings that went into the pieces, for their labels.
func (e *engine) fittings() string {
	var dates []string
	for _, c := range e.changes {
		if !slices.Contains(dates, c.date) {
			dates = append(dates, c.date)
		}
	}
	return strings.Join(dates, ", ")
}
