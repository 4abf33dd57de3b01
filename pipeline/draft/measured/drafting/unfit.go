package drafting

import (
	"cmp"
	"fmt"
	"strings"

	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
)

// Unfit refuses a sentence that is read, and whose numbers cannot be drawn. Where they come of measures, it says
// of which, and that it is not for this body; else it is a slip in the draft.
func (p *Parser) Unfit(i int, text, mend string) {
	p.Scope.Draft.refuse(p.unfit(i, text, mend))
}

func (p *Parser) unfit(i int, text, mend string) sentence.Fault {
	of := p.measuresBehind()
	if len(of) == 0 {
		return p.Fault(i, text, mend)
	}
	f := p.Fault(i, text+"; it comes of "+listed(of), cmp.Or(mend, "take these measures again, or draw the draft for another body"))
	f.Rule = pattern.RuleNotForBody
	return f
}

// FailUnfit is Unfit for a sentence that is worked out while it is read.
func (p *Parser) FailUnfit(i int, text, mend string) {
	panic(sentence.Stop{Fault: p.unfit(i, text, mend)})
}

// listed writes the first few of some measures with their values in the draft's unit.
func listed(of []measure) string {
	const most = 4
	var words []string
	for _, m := range of[:min(most, len(of))] {
		words = append(words, m.name+" "+sentence.FormatNumber(m.value))
	}
	if more := len(of) - most; more > 0 {
		return strings.Join(words, ", ") + fmt.Sprintf(" and %d more measures", more)
	}
	if k := len(words) - 1; k > 0 {
		return strings.Join(words[:k], ", ") + " and " + words[k]
	}
	return words[0]
}

// measuresBehind lists the measures that feed what a sentence names, in the order in which they are met.
func (p *Parser) measuresBehind() []measure {
	var out []measure
	seen := map[*Definition]bool{}
	var visit func(s *sentence.Sentence, sc *Scope)
	visit = func(s *sentence.Sentence, sc *Scope) {
		for c := (&sentence.Cursor{Sentence: s}); c.At < len(s.Text); c.At++ {
			if c.At > 0 && sentence.IsWordRune(s.Text[c.At-1]) || !sentence.IsWordRune(s.Text[c.At]) {
				continue
			}
			from, end := c.At, c.At
			for _, k := range []kind{NumberKind, PointKind, EdgeKind} {
				name, ok := c.Name(sc.Names(k))
				d := sc.named(name, k)
				end, c.At = max(end, c.At), from
				if !ok || seen[d] {
					continue
				}
				seen[d] = true
				if m, is := sc.Draft.measureOf(d); is {
					out = append(out, m)
				} else {
					visit(d.Sentence, d.sc)
				}
			}
			c.At = max(from, end-1)
		}
	}
	visit(p.Sentence, p.Scope)
	return out
}

// measureOf is the measure that a definition is, under either of its names.
func (e *Draft) measureOf(d *Definition) (measure, bool) {
	for _, m := range e.Measures {
		if m.Sentence == d.Sentence {
			return m, true
		}
	}
	return measure{}, false
}
