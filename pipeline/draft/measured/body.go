package measured

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"slices"
	"strings"
	"unicode"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/pattern"
)

// isoNames are terms of ISO 8559-1 (as listed in Anthropometry, Apparel Sizing and Design) beside
// the words of the workroom; either is understood for the other.
var isoNames = map[string]string{
	"bust girth": "bust", "waist girth": "waist", "hip girth": "hip", "neck girth": "neck", "head girth": "head",
	"shoulder length": "shoulder", "back neck point to waist": "nape to waist", "across back shoulder": "across back",
	"bust point to bust point": "apex separation", "neck shoulder point to breast point": "apex depth",
	"front neck point to waist": "front waist",
}

// measureRange is what is plausible for an adult, in cm: common practice (trade limits for a
// measurement sheet). What lies outside is warned of, not refused.
var measureRange = []struct {
	name   string
	lo, hi float64
}{
	{"bust", 70, 160}, {"waist", 50, 150}, {"hip", 75, 165}, {"nape to waist", 33, 52}, {"shoulder", 9, 17},
	{"apex depth", 19, 40}, {"apex separation", 14, 30}, {"neck", 30, 50},
}

// readBody finds the measures of the body that is wanted: from the draft, or from a card beside it.
func (e *engine) readBody(secs map[string]entry, opt Options) {
	e.body = opt.Body
	named := map[string]*yaml.Node{}
	var names []string
	if en, ok := secs["bodies"]; ok {
		for _, b := range e.entries(en.node) {
			named[b.key] = b.node
			names = append(names, b.key)
		}
	}
	defer func() { e.otherBodies(names, named) }()
	said, hasBody := secs["body"]
	if e.body == "" && hasBody && said.s != nil {
		e.body = strings.TrimSpace(said.node.Value)
	}
	var sizes []string
	if en, ok := secs["sizes"]; ok {
		sizes = sizesIn(en)
	}
	if e.body == "" && !hasBody && len(sizes) > 0 {
		e.body = sizes[0]
	}
	e.asked = e.body
	if n, ok := named[e.body]; ok {
		e.takeMeasures(e.doc, n)
		return
	}
	if hasBody && said.s == nil && opt.Body == "" {
		e.takeMeasures(e.doc, said.node)
		return
	}
	card := e.body
	en, hasCard := secs["card"]
	if card == "" && hasCard {
		card = e.text(en)
	}
	if card != "" {
		at := cmp.Or(en.node, said.node, e.doc.root)
		if !hasCard && slices.Contains(sizes, card) {
			at = secs["sizes"].node
		}
		e.cardAt = at
		e.readCard(card, at, opt, names)
		return
	}
	if len(names) > 1 {
		f := pattern.NewFinding(pattern.RuleReadAssumed,
			fmt.Sprintf("the draft holds %d bodies and nobody says which is meant; %q was taken", len(names), names[0]),
			"release it with --body "+strings.Join(names, " or --body ")+"; for the next time say body: in the draft or in a ticket")
		f.Hold, f.Line, f.Column = true, secs["bodies"].keyNode.Line, secs["bodies"].keyNode.Column
		e.findings = append(e.findings, f)
	}
	if len(names) > 0 {
		e.body = names[0]
		e.takeMeasures(e.doc, named[names[0]])
	}
}

// readCard takes the measures of a card that lies beside the draft.
func (e *engine) readCard(card string, at *yaml.Node, opt Options, names []string) {
	if opt.Card == nil {
		e.fault(at, quote(card)+" is no body of this draft", nearest(card, names))
		return
	}
	data, err := opt.Card(card)
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			what := " is no measure card beside the draft or in the workroom's folder cards"
			if len(names) > 0 {
				what = " is no body of this draft, and" + strings.Replace(what, " is", "", 1) + " has that name"
			}
			mend := nearest(card, names)
			if mend == "" {
				mend = "put the card there; its name ends in .yaml"
			}
			e.fault(at, quote(card)+what, mend)
			return
		}
		mend := "put the card beside the draft"
		if len(names) > 0 {
			mend += ", or take one of the draft's own bodies: " + strings.Join(names, ", ")
		}
		e.fault(at, fmt.Sprintf("the measure card %q cannot be read: %v", card, err), mend)
		return
	}
	file := card
	if !strings.Contains(file, ".") {
		file += ".yaml"
	}
	doc, faults := parseDoc(data, file)
	if faults != nil {
		e.faults = append(e.faults, faults...)
		return
	}
	unit, unitName := 1.0, e.unit
	var list, changes *yaml.Node
	for _, en := range e.entriesIn(doc, doc.root) {
		switch en.key {
		case "unit":
			u, ok := units[en.node.Value]
			if !ok {
				e.faults = append(e.faults, Fault{File: file, Line: en.node.Line, Column: en.node.Column,
					Text: quote(en.node.Value) + " is no unit", Mend: "say mm, cm or in"})
				return
			}
			unit, unitName = u/e.unitMM, en.node.Value
		case "wearer":
			e.body = en.node.Value
		case "measures":
			list = en.node
		case "changes":
			changes = en.node
		case "taken", "note":
		default:
			e.faults = append(e.faults, Fault{File: file, Line: en.keyNode.Line, Column: en.keyNode.Column,
				Text: quote(en.key) + " is no key of a measure card", Mend: nearest(en.key, []string{"unit", "wearer", "taken", "note", "measures", "changes"})})
		}
	}
	if list == nil {
		e.faults = append(e.faults, Fault{File: file, Line: 1, Column: 1, Text: "the card holds no measures", Mend: "add measures: and a line for each"})
		return
	}
	from := len(e.measures)
	e.takeMeasures(doc, list)
	for i := from; i < len(e.measures); i++ {
		e.measures[i].value *= unit
		e.measures[i].unit = unitName
		e.top.defs[e.measures[i].name].n *= unit
	}
	e.iso()
	if changes != nil {
		e.readChanges(doc, changes, unit)
	}
}

// takeMeasures reads "bust: 92" and "apex depth: 27, from the neck point".
func (e *engine) takeMeasures(doc *document, n *yaml.Node) {
	for _, en := range e.entriesIn(doc, n) {
		if en.s == nil {
			e.faults = append(e.faults, Fault{File: doc.name, Line: en.node.Line, Column: en.node.Column, Text: quote(en.key) + " wants a number"})
			continue
		}
		e.try(func() {
			p := newParser(en.s, newScope(e, nil, ""))
			if p.done() {
				p.fail(0, "the measure "+quote(en.key)+" is missing", missingMeasure(en.key))
			}
			if unicode.IsLetter(p.runeAt(p.i)) && p.runeAt(p.i) != 'a' {
				p.fail(p.i, p.seen()+" is no number", "write the figure: "+en.key+": 57")
			}
			v := p.sum()
			if !p.sign(',') {
				p.end()
			}
			if v <= 0 {
				p.fail(0, quote(en.key)+" is "+num(v), "a measure is more than 0")
			}
			e.measures = append(e.measures, measure{en.key, v, en.s, e.unit})
			e.top.set(&def{name: en.key, s: en.s, line: en.keyNode.Line, col: en.keyNode.Column, sc: e.top, state: 2, n: v})
		})
	}
	e.iso()
}

// missingMeasure says what may mend a name without a measure.
func missingMeasure(key string) string {
	words := strings.Fields(key)
	if last := words[len(words)-1]; len(words) > 1 && unicode.IsDigit([]rune(last)[0]) {
		return "write a colon and a space between: " + strings.Join(words[:len(words)-1], " ") + ": " + last
	}
	if slices.Contains([]string{"from", "over", "at", "with", "taken", "level", "to"}, words[0]) {
		return "between { and } a comma begins the next measure: put the whole in quotes, \"17, " + key + "\""
	}
	return "take it, or leave the line out"
}

// iso makes each measure known by its other name.
func (e *engine) iso() {
	for _, m := range e.measures {
		other := isoNames[m.name]
		for iso, plain := range isoNames {
			if plain == m.name {
				other = iso
			}
		}
		if _, ok := e.top.defs[other]; other != "" {
			d := *e.top.defs[m.name]
			d.name = other
			if !ok || e.top.defs[other].s == d.s {
				e.top.set(&d)
			}
		}
	}
}

// plausible warns of measures outside the limits, and says what they look like.
func (e *engine) plausible() {
	cm := map[string]measure{}
	for _, m := range e.measures {
		name := m.name
		if plain, ok := isoNames[name]; ok {
			name = plain
		}
		m.value *= e.unitMM / 10
		cm[name] = m
	}
	for _, r := range measureRange {
		m, ok := cm[r.name]
		if !ok || m.value >= r.lo && m.value <= r.hi {
			continue
		}
		text := fmt.Sprintf("%s %s lies outside what is usual for an adult, %s to %s %s", r.name, m.taken(), limit(r.lo, m.unit), limit(r.hi, m.unit), m.unit)
		hold := false
		inside := func(v float64) bool { return v >= r.lo && v <= r.hi }
		switch {
		case m.unit == "in" && inside(m.value/2.54):
			text += fmt.Sprintf("; %s cm would be usual: was it taken in cm?", num(m.value/2.54))
			hold = true
		case m.unit != "in" && inside(m.value*2.54):
			text += fmt.Sprintf("; %s in would be usual: was it taken in inches?", num(m.value*10/units[m.unit]))
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
	e.compare(cm, "waist", "bust", 0)
	e.compare(cm, "waist", "hip", 10)
}

func (e *engine) compare(cm map[string]measure, small, big string, room float64) {
	a, okA := cm[small]
	b, okB := cm[big]
	if okA && okB && a.value >= b.value+room {
		e.measureFinding(a, fmt.Sprintf("%s %s is more than is usual beside %s %s: were the two exchanged?", small, a.taken(), big, b.taken()), false)
	}
}

// taken writes a measure, whose value is in cm here, as it was taken.
func (m measure) taken() string { return num(m.value*10/units[m.unit]) + " " + m.unit }

// limit writes a limit, given in cm, in a unit, to a tenth.
func limit(cm float64, unit string) string { return num(math.Round(cm*100/units[unit]) / 10) }

func (e *engine) measureFinding(m measure, text string, hold bool) {
	e.unlikely = append(e.unlikely, Fault{File: m.s.file, Line: m.s.lines[0], Column: m.s.cols[0], Text: text, Mend: "take the measure once more"})
	f := pattern.NewFinding(pattern.RuleMeasureUnlikely, text, "take the measure once more; if it is right, release the job with --as-measured")
	f.Line, f.Column, f.Hold = m.s.lines[0], m.s.cols[0], hold
	if m.s.file != e.doc.name {
		f.Message = fmt.Sprintf("the card %s, line %d: %s", m.s.file, f.Line, text)
		f.Line, f.Column = e.cardAt.Line, e.cardAt.Column
	}
	e.findings = append(e.findings, f)
}

// blameMeasures names unlikely measures beside what could not be drawn: they may well be the cause.
func (e *engine) blameMeasures() { e.faults = append(e.faults, e.unlikely...) }
