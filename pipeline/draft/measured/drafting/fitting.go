package drafting

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"sort"
	"strconv"
	"strings"
	"time"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/pattern"
)

// readChanges reads a card's fittings, by date. unit is what one of the card's is in the draft's.
func (e *Draft) readChanges(doc *sentence.Document, n *yaml.Node, unit float64) {
	each(n, func(k, v *yaml.Node) { // a day may be named twice: each line stands for itself
		date, only := sentence.FittingDay(k.Value)
		if _, err := time.Parse(time.DateOnly, date); err != nil {
			e.Faults = append(e.Faults, sentence.Fault{File: doc.Name, Line: k.Line, Column: k.Column,
				Text: sentence.Quote(k.Value) + " is no date of a fitting", Mend: "write it as 2026-10-31, or 2026-10-31, toile"})
			return
		}
		when := strings.TrimSpace(k.Value)
		switch v.Kind {
		case yaml.ScalarNode:
			e.Try(func() { e.readAlteration(when, doc.Sentence(v), unit) })
		case yaml.SequenceNode:
			for _, line := range v.Content {
				if line.Kind == yaml.MappingNode {
					e.readDay(doc, date, only, line, unit)
					continue
				}
				e.Try(func() { e.readAlteration(when, doc.Sentence(line), unit) })
			}
		default:
			e.readDay(doc, date, only, v, unit)
		}
	})
	sort.SliceStable(e.changes, func(i, j int) bool { return e.changes[i].date < e.changes[j].date })
	sort.SliceStable(e.alterations, func(i, j int) bool { return e.alterations[i].when[:10] < e.alterations[j].when[:10] })
}

// readDay reads by how much measures and numbers were changed at a fitting.
func (e *Draft) readDay(doc *sentence.Document, date, only string, n *yaml.Node, unit float64) {
	for _, x := range e.entriesIn(doc, n) {
		if x.Sentence == nil {
			e.Faults = append(e.Faults, sentence.Fault{File: doc.Name, Line: x.KeyNode.Line, Column: x.KeyNode.Column, Text: sentence.Quote(x.Key) + " wants a length", Mend: "say 0.6 more, or 0.6 less"})
			continue
		}
		e.Try(func() {
			p := tree.NewParser(x.Sentence, tree.NewScope(e.Context, nil, ""))
			c := change{date: date, only: only, name: x.Key, by: p.Sum()() * unit, s: doc.Sentence(x.KeyNode)}
			switch p.TakeAny("more", "less") {
			case "less":
				c.by = -c.by
			case "":
				p.Fail(p.At, "whether that is more or less is not said", "say more or less behind the length")
			}
			p.End()
			e.changes = append(e.changes, c)
		})
	}
}

// applyChanges adds the fittings' changes to the measures and numbers they name. A card serves every
// draft of its wearer: what another draft's number was changed by is told and left out here.
func (e *Draft) applyChanges() {
	var applied []change
	for _, c := range e.changes {
		name, drawn, _ := e.ofOneSide(c.name)
		if !drawn {
			continue
		}
		d, ok := e.Top.Definitions[name]
		if !ok {
			if e.isCalled(c.only) {
				e.tellLeftOut(c)
			}
			continue
		}
		if !e.isCalled(c.only) {
			e.cardFinding(c.s, pattern.Note, sentence.Quote(c.name)+notIn(c.date, c.only), hereToo(c.only))
			continue
		}
		applied = append(applied, c)
		if d.Measure == "" {
			d.Add += c.by // a number, worked out later
			continue
		}
		for _, other := range e.Top.Definitions { // a measure, also by its other name
			if other.Sentence == d.Sentence {
				other.Number += c.by
			}
		}
		for i := range e.Measures {
			if e.Measures[i].Sentence == d.Sentence {
				e.Measures[i].value += c.by
			}
		}
	}
	e.changes = applied
}

// isCalled tells whether a fitting that belongs to a garment, "" for all, belongs to this one, by its file's name or its style.
func (e *Draft) isCalled(garment string) bool {
	names := []string{pattern.TrimYAML(filepath.Base(e.Document.Name))}
	if style := valueOf(e.Document.Root, "style"); style != nil {
		names = append(names, style.Value)
	}
	return sentence.CountsFor(pattern.TrimYAML(garment), names...)
}

func notIn(date, garment string) string {
	return ", changed at the fitting of " + date + ", is only for " + garment + ", and is left out here"
}

func hereToo(garment string) string {
	return "To have it here too take \"only for " + garment + "\" out of the card's line"
}

// notHere ends what is told of a change that is left out.
const notHere = ", is no measure or number of this draft, and is left out"

// tellLeftOut tells of a change whose number this draft has not where its name is like one that it has; a card serves all
// garments of its wearer, and what another one is changed by is not mentioned. Where the name is one slip of the pen from one that
// it has, somebody must look before cloth is cut; a name that is only like one may well be another draft's.
func (e *Draft) tellLeftOut(c change) {
	text := "the card " + c.s.File + ", line " + strconv.Itoa(c.s.Line) + ": " + sentence.Quote(c.name) +
		", changed at the fitting of " + c.date + notHere
	var f pattern.Finding
	side, of, _ := sentence.SideMeant(c.name)
	switch near := e.Nearest(c.name, e.Top.Order); {
	case side != "" && e.Top.Definitions[of] != nil:
		f = pattern.NewFinding(pattern.RuleMeasureUnlikely, text, "did you mean "+sentence.Quote(side+" "+of)+"?")
		f.Hold = true
	case slices.ContainsFunc(e.Top.Order, func(n string) bool { return e.slipOf(c.name, n) }):
		f = pattern.NewFinding(pattern.RuleMeasureUnlikely, text, near+" If it belongs to another draft, release the job with --as-measured")
		f.Hold = true
	case strings.HasPrefix(near, "did"):
		f = pattern.NewFinding(pattern.RuleLeftOut, text, near+" Right, if it belongs to another draft of this wearer")
		f.Severity = pattern.Warning
	default:
		return // another garment's
	}
	f.Line, f.Column = e.cardAt.Line, e.cardAt.Column
	e.Findings = append(e.Findings, f)
}

// slipOf tells whether a changed name is most likely one that the draft has, misspelt: a measure's, which the card has
// too, or a long one. Short names like slit and split are both words of drafts.
func (e *Draft) slipOf(name, has string) bool {
	const long = 6
	return sentence.OneSlip(name, has) && (e.Top.Definitions[has].Measure != "" || len(name) >= long && len(has) >= long)
}

// Told lists the changes that went into the pieces, each as the card says it, by date.
func (e *Draft) Told() []string {
	var out []string
	for _, c := range e.changes {
		text := c.name
		if c.s != nil { // of a measure or a number
			more := "more"
			if c.by < 0 {
				more = "less"
			}
			text = c.date + ": " + c.name + " " + e.WithUnit(math.Abs(c.by)) + " " + more
		}
		out = append(out, text)
	}
	return out
}

// LeftOut lists what the card's fittings say and the pieces do not have, each as a check tells it: what a fitting changes
// that this draft has not by that name.
func (e *Draft) LeftOut() []string {
	var out []string
	for _, f := range e.Findings {
		if e.cardAt != nil && f.Line == e.cardAt.Line && (f.Rule == pattern.RuleLeftOut || strings.HasSuffix(f.Message, notHere)) {
			out = append(out, f.Message+"; "+f.Mend)
		}
	}
	return out
}

// Fittings lists the dates of the fittings that went into the pieces, for their labels.
func (e *Draft) Fittings() string {
	var dates []string
	for _, c := range e.changes {
		if !slices.Contains(dates, c.date) {
			dates = append(dates, c.date)
		}
	}
	return strings.Join(dates, ", ")
}

// hasEdge tells whether a drawing, or an edge of one, has a name.
func (e *Draft) hasEdge(name string) bool {
	return slices.ContainsFunc(e.DrawingOrder, func(d string) bool {
		return d == name || slices.ContainsFunc(e.Drawings[d].EdgeNames(), func(edge string) bool { return edge == name || d+" "+edge == name })
	})
}

// sideOfSeam is of which side of the wearer a fitting's seam is, and the seam, as SideMeant has them; an edge that has the whole
// name is of no side.
func (e *Draft) sideOfSeam(name string) (side, seam string, sure bool) {
	if e.hasEdge(name) {
		return "", name, true
	}
	side, seam, sure = sentence.SideMeant(name)
	bare := strings.TrimSuffix(seam, " seam")
	for _, s := range []string{bare, strings.ToLower(bare)} {
		if !e.hasEdge(seam) && e.hasEdge(s) {
			seam = s
		}
	}
	return side, seam, sure
}

// cardFinding tells what a line of the card says that the pieces have not.
func (e *Draft) cardFinding(s *sentence.Sentence, sev pattern.Severity, text, mend string) {
	f := pattern.NewFinding(pattern.RuleLeftOut, fmt.Sprintf("the card %s, line %d: %s", s.File, s.Line, text), mend)
	f.Severity, f.Line, f.Column = sev, e.cardAt.Line, e.cardAt.Column
	e.Findings = append(e.Findings, f)
}
