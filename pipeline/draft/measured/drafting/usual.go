package drafting

import (
	"fmt"
	"math"
	"slices"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
)

// usualRange is the plausible range of a measure, in cm. A measure outside is warned of, not refused.
type usualRange struct {
	name   string
	lo, hi float64
}

// usual are the ranges by kind of wearer. An adult whose kind nobody says: the trade's limits for a measurement sheet
// (common practice), nape to waist and shoulder widened by the surveys. Woman and man: as the surveys found of 4,194
// women and 3,815 men (NATICK/TR-89/044 of 1988 and NATICK/TR-15/007 of 2012), computed, and rounded outward; girths up
// to the trade's limits, since a survey of soldiers has few large bodies; hood height and the halves of an armhole from
// memory. Child: 4 to 12 years, from memory; see forHeight.
var usual = map[string]struct {
	who    string
	ranges []usualRange
}{
	"": {"an adult", []usualRange{
		{"bust", 70, 160}, {"waist", 50, 150}, {"hip", 75, 165}, {"nape to waist", 31, 52}, {"shoulder", 9, 18},
		{"apex depth", 19, 40}, {"apex separation", 14, 30}, {"neck", 30, 50},
	}},
	"woman": {"a woman", []usualRange{
		{"bust", 70, 160}, {"high bust", 70, 150}, {"waist", 50, 150}, {"hip", 75, 165}, {"neck", 29, 48}, {"shoulder", 9, 18},
		{"across front", 24, 50}, {"across back", 26, 50}, {"nape to waist", 31, 50}, {"front waist", 33, 58},
		{"apex depth", 19, 40}, {"apex separation", 13, 30}, {"head", 50, 64}, {"arm length", 41, 68}, {"wrist", 12, 21}, {"hand", 15, 24},
		{"height", 138, 195}, {"hip depth", 12, 31}, {"armhole depth", 14, 28}, {"front armhole", 14, 32}, {"back armhole", 14, 32},
		{"upper arm", 20, 55}, {"rise", 20, 40}, {"inside leg", 57, 98}, {"outside leg", 84, 126}, {"knee", 29, 62}, {"heel", 25, 42}, {"hood height", 52, 80},
	}},
	"man": {"a man", []usualRange{
		{"bust", 77, 160}, {"waist", 60, 150}, {"hip", 78, 165}, {"neck", 34, 56}, {"shoulder", 10, 19},
		{"across front", 26, 58}, {"across back", 28, 58}, {"nape to waist", 34, 54}, {"head", 51, 64},
		{"arm length", 48, 75}, {"wrist", 14, 23}, {"hand", 17, 26},
		{"high bust", 77, 160}, {"front waist", 33, 62}, {"apex depth", 20, 42}, {"apex separation", 15, 32},
		{"height", 148, 210}, {"hip depth", 15, 32}, {"armhole depth", 16, 32}, {"front armhole", 16, 36}, {"back armhole", 16, 36},
		{"upper arm", 23, 60}, {"rise", 22, 40}, {"inside leg", 64, 108}, {"outside leg", 90, 137}, {"knee", 30, 62}, {"heel", 28, 45}, {"hood height", 52, 82},
	}},
	"child": {"a child of 4 to 12", []usualRange{
		{"bust", 54, 78}, {"waist", 50, 66}, {"hip", 56, 84}, {"neck", 25, 32}, {"shoulder", 8, 12},
		{"across front", 21, 31}, {"across back", 22, 33}, {"nape to waist", 23, 35}, {"front waist", 24, 36},
		{"apex depth", 15, 20}, {"apex separation", 11, 15}, {"head", 49, 55}, {"arm length", 33, 53}, {"wrist", 11, 15}, {"hand", 13, 17},
		{"height", least, most}, {"high bust", 54, 78}, {"hip depth", 11, 16}, {"armhole depth", 12, 16}, {"front armhole", 12, 18}, {"back armhole", 12, 18},
		{"upper arm", 16, 24}, {"rise", 17, 25}, {"inside leg", 42, 72}, {"outside leg", 58, 98}, {"knee", 24, 34}, {"heel", 20, 29}, {"hood height", 54, 64},
	}},
}

// least and most are between which heights a child of 4 to 12 is usual, cm; spread is by how much the children of one
// height differ, up and down (about 1.65 deviations of a girth in Snyder and others, Anthropometry of Infants, Children, and
// Youths to Age 18, UM-HSRI-77-17); beyond is by how much one may lie outside of what is usual for all of them, so that a slip
// that is told without a height is told with one: the waists of nine in ten of 8 years need 0.07 (the same source).
const (
	least, most = 100, 152
	spread      = 0.2
	beyond      = 0.1
)

// forHeight gives what is usual for a child of a height in cm: between the ends of what is usual for children, as far as the
// height lies between theirs, and not far beyond those ends. Without a height, or for one beyond them, it is all between the ends.
func forHeight(ranges []usualRange, height float64) (who string, out []usualRange) {
	if height < least || height > most {
		return usual["child"].who, ranges
	}
	for _, r := range ranges {
		if r.name != "height" {
			middle := r.lo + (r.hi-r.lo)*(height-least)/(most-least)
			lo, hi := max(middle*(1-spread), r.lo*(1-beyond)), min(middle*(1+spread), r.hi*(1+beyond))
			r.lo, r.hi = math.Round(lo*2)/2, math.Round(hi*2)/2
		}
		out = append(out, r)
	}
	return "a child " + sentence.FormatNumber(height) + " cm tall", out
}

// kinds are the kinds of wearer that may be said.
var kinds = []string{"woman", "man", "child"}

// readKind takes the kind of wearer, of a draft or of a card.
func (e *Draft) readKind(n *yaml.Node, file string) {
	if !slices.Contains(kinds, n.Value) {
		e.Faults = append(e.Faults, sentence.Fault{File: file, Line: n.Line, Column: n.Column,
			Text: sentence.Quote(n.Value) + " is no kind of wearer", Mend: "say woman, man or child, or leave the line out"})
		return
	}
	e.kind = n.Value
}

// childlike tells whether a measure is usual for a child.
func childlike(name string, cm float64) bool {
	return slices.ContainsFunc(usual["child"].ranges, func(r usualRange) bool { return r.name == name && cm >= r.lo && cm <= r.hi })
}

// JudgeMeasures warns of measures outside the limits, and says what they look like.
func (e *Draft) JudgeMeasures() {
	cm := map[string]measure{}
	for _, m := range e.Measures {
		name := m.name
		if plain, ok := isoNames[name]; ok {
			name = plain
		}
		m.value *= e.UnitMM / 10
		cm[name] = m
	}
	odd := map[string]bool{} // of which more is told than that another is less
	who, ranges := usual[e.kind].who, usual[e.kind].ranges
	if e.kind == "child" {
		who, ranges = forHeight(ranges, cm["height"].value)
	}
	for _, r := range ranges {
		m, ok := cm[r.name]
		if !ok || m.value >= r.lo && m.value <= r.hi {
			continue
		}
		text := fmt.Sprintf("%s %s lies outside what is usual for %s, %s to %s %s", strings.TrimSpace(m.side+" "+r.name), m.taken(), who, limit(r.lo, m.unit), limit(r.hi, m.unit), m.unit)
		hold := false
		odd[r.name] = true
		if e.kind == "" && childlike(r.name, m.value) {
			e.measureFinding(m, text+"; for a child it is usual, and kind: child says so", false)
			continue
		}
		inside := func(v float64) bool { return v >= r.lo && v <= r.hi }
		switch {
		case m.unit == "in" && inside(m.value/2.54):
			text += fmt.Sprintf("; %s cm would be usual: was it taken in cm?", sentence.FormatNumber(m.value/2.54))
			hold = true
		case m.unit != "in" && inside(m.value*2.54):
			text += fmt.Sprintf("; %s in would be usual: was it taken in inches?", sentence.FormatNumber(m.value*10/sentence.Units[m.unit]))
			hold = true
		case inside(m.value * 10):
			text += "; ten times as much would be usual: a wrong unit?"
			hold = true
		case inside(m.value * 2):
			text += "; twice as much would be usual: was a half taken?"
		case inside(m.value * 4):
			text += "; four times as much would be usual: was a quarter taken, or is it a wrong unit?"
			hold = true
		}
		e.measureFinding(m, text, hold)
	}
	for _, big := range []string{"bust", "hip"} {
		if room := map[string]float64{"hip": 10}[big]; !odd["waist"] && !odd[big] {
			e.compare(cm, "waist", big, room)
		}
	}
}

func (e *Draft) compare(cm map[string]measure, small, big string, room float64) {
	a, okA := cm[small]
	b, okB := cm[big]
	if okA && okB && a.value >= b.value+room {
		e.measureFinding(a, fmt.Sprintf("%s %s is more than is usual beside %s %s: were the two exchanged?", small, a.taken(), big, b.taken()), false)
	}
}

// taken writes a measure, whose value is in cm here, as it was taken.
func (m measure) taken() string {
	return sentence.FormatNumber(m.value*10/sentence.Units[m.unit]) + " " + m.unit
}

// limit writes a limit, given in cm, in a unit, to a tenth.
func limit(cm float64, unit string) string {
	return sentence.FormatNumber(math.Round(cm*100/sentence.Units[unit]) / 10)
}

func (e *Draft) measureFinding(m measure, text string, hold bool) {
	e.unlikely = append(e.unlikely, sentence.Fault{File: m.Sentence.File, Line: m.Sentence.Line, Column: m.Sentence.Column, Text: text, Mend: "take the measure once more", Rule: pattern.RuleNotForBody, First: true})
	f := pattern.NewFinding(pattern.RuleMeasureUnlikely, text, "take the measure once more; if it is right, release the job with --as-measured")
	f.Line, f.Column, f.Hold = m.Sentence.Line, m.Sentence.Column, hold
	if m.Sentence.File != e.Document.Name && e.cardAt == nil { // a block's body
		f.Message, f.Line, f.Column = fmt.Sprintf("%s, line %d: %s", m.Sentence.File, f.Line, text), e.From.Line, e.From.Column
	} else if m.Sentence.File != e.Document.Name {
		f.Message = fmt.Sprintf("the card %s, line %d: %s", m.Sentence.File, f.Line, text)
		f.Line, f.Column = e.cardAt.Line, e.cardAt.Column
	}
	e.Findings = append(e.Findings, f)
}
