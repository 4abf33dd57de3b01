package drafting

import (
	"fmt"
	"slices"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
)

// side is the side of the wearer that is drawn.
func (e *Draft) side() string {
	if e.left {
		return "left"
	}
	return "right"
}

// ofOneSide tells whether a name is that of a measure or number of the draft with a side before it, "left shoulder slope", so that
// the sides differ: what the draft calls it, and whether it is of the side that is drawn. A draft that says the whole name itself
// draws its sides apart by itself.
func (e *Draft) ofOneSide(name string) (rest string, drawn, is bool) {
	side, rest := sentence.SideOf(name)
	if side == "" || e.Top.Definitions[rest] == nil || e.says(e.Document.Root, name) {
		return name, true, false
	}
	e.OneSided = true
	return rest, side == e.side(), true
}

// toPeople are the sections whose text is for people to read.
var toPeople = []string{"style", "note", "wearer"}

// says tells whether a sentence of the draft holds a name by itself, not in a longer one; the bodies' lines and what is for people to
// read aside.
func (e *Draft) says(n *yaml.Node, name string) bool {
	found := n.Kind == yaml.ScalarNode && strings.Contains(n.Value, name) && strings.Contains(e.withoutLonger(n.Value, name), name)
	for i, c := range n.Content {
		if n.Kind == yaml.MappingNode && (i%2 == 0 || n == e.Document.Root && (n.Content[i-1].Value == "bodies" || n.Content[i-1].Value == "body" || slices.Contains(toPeople, n.Content[i-1].Value))) {
			continue // a key, a body, or a text
		}
		found = found || e.says(c, name)
	}
	return found
}

// withoutLonger is a sentence without the measures and numbers whose names hold a name, as "left hip depth" holds "left hip".
func (e *Draft) withoutLonger(text, name string) string {
	for longer := range e.Top.Definitions {
		if longer != name && strings.Contains(longer, name) {
			text = strings.ReplaceAll(text, longer, "")
		}
	}
	return text
}

// takeOneSided puts a measure of the side that is drawn in the place of the one of both sides, or of the draft's own number.
func (e *Draft) takeOneSided() {
	for _, m := range e.Measures {
		if side, rest := sentence.SideOf(m.name); side != "" && e.Top.Definitions["left "+rest] != nil && e.Top.Definitions["right "+rest] != nil && e.Top.Definitions[rest] == nil {
			e.Top.Copy(e.Top.Definitions["right "+rest], rest) // both are told, and none of both sides
		}
	}
	for _, m := range e.Measures {
		rest, drawn, is := e.ofOneSide(m.name)
		if !is || !drawn {
			continue
		}
		both := e.Top.Definitions[rest].Sentence
		for name, d := range e.Top.Definitions { // also by its other name
			if d.Sentence == both {
				e.Top.Copy(e.Top.Definitions[m.name], name)
			}
		}
		for i := range e.Measures {
			if o := &e.Measures[i]; o.Sentence == both {
				o.value, o.Sentence, o.unit, o.side = m.value, m.Sentence, m.unit, e.side()
			}
		}
	}
}

// Share tells the fittings of either side of a wearer of both.
func (e *Draft) Share(other *Draft) {
	for _, c := range other.changes {
		if !slices.ContainsFunc(e.changes, func(o change) bool { return o.date == c.date && o.name == c.name && o.by == c.by }) {
			e.changes = append(e.changes, c)
		}
	}
	slices.SortStableFunc(e.changes, func(a, b change) int { return strings.Compare(a.date, b.date) })
	other.changes = e.changes
}

// JudgeSides warns of a number of the side that is not drawn which is far from that of the one drawn: most likely it was taken in
// another unit than the draft's.
func (e *Draft) JudgeSides() {
	const far = 2 // times; the sides of a wearer differ by less (from memory)
	num := func(v float64) string { return sentence.FormatNumber(v) + " " + e.Unit }
	for _, m := range e.Measures {
		rest, drawn, is := e.ofOneSide(m.name)
		if !is || drawn || e.Top.Definitions[rest].Measure != "" {
			continue
		}
		if other := e.Top.Definitions[rest].Number; other > 0 && (m.value < other/far || m.value > other*far) {
			e.measureFinding(m, fmt.Sprintf("%s comes to %s in this draft, and the other side has %s: was it taken in another unit, or along another length?", m.name, num(m.value), num(other)), false)
		}
	}
}

// tellOneSided tells of a measure of one side that this draft does not ask for, so that both sides are drawn alike, where it is
// like one that it has, or where the draft has an edge of that name.
func (e *Draft) tellOneSided() {
	known := slices.DeleteFunc(slices.Clone(e.Top.Order), func(n string) bool { side, _ := sentence.SideOf(n); return side != "" })
	for _, m := range e.Measures {
		side, rest, _ := sentence.SideMeant(m.name)
		if side == "" || e.cardAt == nil || e.says(e.Document.Root, m.name) {
			continue
		}
		if e.Top.Definitions[rest] != nil && m.name == side+" "+rest {
			continue
		}
		edge, _, _ := strings.Cut(rest, " ")
		meant := slices.IndexFunc(known, func(n string) bool { return strings.EqualFold(n, rest) || e.slipOf(strings.ToLower(rest), n) })
		switch {
		case meant >= 0:
			e.cardFinding(m.Sentence, pattern.Warning, sentence.Quote(m.name)+" is of one side, and is no name that this draft asks for: both sides are drawn alike",
				"did you mean "+sentence.Quote(side+" "+known[meant])+"?")
		case e.hasEdge(edge):
			e.cardFinding(m.Sentence, pattern.Warning, sentence.Quote(m.name)+" is of one side, and this draft has no "+sentence.Quote(rest)+": both sides are drawn alike",
				"give the draft a number of that name, by which it is drawn")
		}
	}
}
