package drafting

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"unicode"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
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

// readBody finds the measures of the body that is wanted: from the draft, or from a card beside it.
func (e *Draft) readBody(secs map[string]sentence.Entry, opt Options) {
	e.Body = opt.Body
	named := map[string]*yaml.Node{}
	var names []string
	if en, ok := secs["bodies"]; ok {
		for _, b := range e.Entries(en.Node) {
			named[b.Key] = b.Node
			names = append(names, b.Key)
		}
	}
	defer func() { e.otherBodies(names, named) }()
	said, hasBody := secs["body"]
	if e.Body == "" && hasBody && said.Sentence != nil {
		e.Body = strings.TrimSpace(said.Node.Value)
	}
	var sizes []string
	if en, ok := secs["sizes"]; ok {
		sizes = SizesOf(en.Node)
	}
	if e.Body == "" && !hasBody && len(sizes) > 0 {
		e.Body = sizes[0]
	}
	e.AskedBody = e.Body
	if n, ok := named[e.Body]; ok {
		e.takeMeasures(e.Document, n)
		return
	}
	if hasBody && said.Sentence == nil && opt.Body == "" {
		e.takeMeasures(e.Document, said.Node)
		return
	}
	card := e.Body
	en, hasCard := secs["card"]
	if card == "" && hasCard {
		card = e.Text(en)
	}
	if card != "" {
		at := cmp.Or(en.Node, said.Node, e.Document.Root)
		if !hasCard && slices.Contains(sizes, card) {
			at = secs["sizes"].Node
		}
		e.cardAt = at
		e.readCard(card, at, opt, names)
		return
	}
	if len(names) > 1 {
		f := pattern.NewFinding(pattern.RuleReadAssumed,
			fmt.Sprintf("the draft holds %d bodies and does not say which is meant; %q was taken", len(names), names[0]),
			"release it with --body "+strings.Join(names, " or --body ")+"; for the next time say body: in the draft or in a ticket")
		f.Hold, f.Bodies = true, names
		f.Line, f.Column = secs["bodies"].KeyNode.Line, secs["bodies"].KeyNode.Column
		e.Findings = append(e.Findings, f)
	}
	if len(names) > 0 {
		e.Body = names[0]
		e.takeMeasures(e.Document, named[names[0]])
	}
}

// readCard takes the measures of a card that lies beside the draft.
func (e *Draft) readCard(card string, at *yaml.Node, opt Options, names []string) {
	if opt.Card == nil {
		e.AddFault(at, sentence.Quote(card)+" is no body of this draft", sentence.Nearest(card, names))
		return
	}
	data, err := opt.Card(card)
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			what := " is no measure card beside the draft or in the workroom's folder cards"
			if len(names) > 0 {
				what = " is no body of this draft, and" + strings.Replace(what, " is", "", 1) + " has that name"
			}
			known := names
			var folder interface{ Cards() []string } // an error that knows which cards there are
			if errors.As(err, &folder) {
				known = append(slices.Clone(names), folder.Cards()...)
			}
			mend := cmp.Or(sentence.Nearest(card, known), "put the card there; its name ends in .yaml")
			e.AddFault(at, sentence.Quote(card)+what, mend)
			return
		}
		mend := "put the card beside the draft"
		if len(names) > 0 {
			mend += ", or take one of the draft's own bodies: " + strings.Join(names, ", ")
		}
		e.AddFault(at, fmt.Sprintf("the measure card %q cannot be read: %v", card, err), mend)
		return
	}
	file := card
	if !strings.Contains(file, ".") {
		file += ".yaml"
	}
	doc, faults := sentence.ParseDoc(data, file)
	if faults != nil {
		e.Faults = append(e.Faults, faults...)
		return
	}
	unit, unitName := 1.0, e.Unit
	var list, changes *yaml.Node
	for _, en := range e.entriesIn(doc, doc.Root) {
		switch en.Key {
		case "unit":
			u, ok := sentence.Units[en.Node.Value]
			if !ok {
				text, mend := sentence.UnknownUnit(en.Node.Value)
				e.Faults = append(e.Faults, sentence.Fault{File: file, Line: en.Node.Line, Column: en.Node.Column, Text: text, Mend: mend})
				return
			}
			unit, unitName = u/e.UnitMM, en.Node.Value
		case "wearer":
			e.Body = en.Node.Value
		case "measures":
			list = en.Node
		case "changes":
			changes = en.Node
		case "kind":
			e.readKind(en.Node, file)
		case "taken", "note":
		default:
			e.Faults = append(e.Faults, sentence.Fault{File: file, Line: en.KeyNode.Line, Column: en.KeyNode.Column,
				Text: sentence.Quote(en.Key) + " is no key of a measure card", Mend: sentence.Nearest(en.Key, []string{"unit", "wearer", "kind", "taken", "note", "measures", "changes"})})
		}
	}
	if list == nil {
		e.Faults = append(e.Faults, sentence.Fault{File: file, Line: 1, Column: 1, Text: "the card holds no measures", Mend: "add measures: and a line for each"})
		return
	}
	from := len(e.Measures)
	e.inUnit(unit*e.UnitMM, func() { e.takeMeasures(doc, list) })
	for i := from; i < len(e.Measures); i++ {
		e.Measures[i].value *= unit
		e.Measures[i].unit = unitName
		d := e.Top.Definitions[e.Measures[i].name]
		if d.Number *= unit; unitName != e.Unit { // else a refusal would mix both units in silence
			d.Unit = e.Unit
		}
	}
	e.iso()
	if changes != nil {
		e.inUnit(unit*e.UnitMM, func() { e.readChanges(doc, changes, unit) })
	}
}

// inUnit reads a card in its own unit, of so many mm: a number that says its unit is turned into that one.
func (e *Draft) inUnit(mm float64, read func()) {
	own := e.UnitMM
	defer func() { e.UnitMM = own }()
	e.UnitMM = mm
	read()
}

// takeMeasures reads "bust: 92", "kind: child" and "apex depth: 27, from the neck point".
func (e *Draft) takeMeasures(doc *sentence.Document, n *yaml.Node) {
	before := sentence.Entry{}
	for _, en := range e.entriesIn(doc, n) {
		last := before
		before = en
		if en.Key == "kind" && en.Node.Kind == yaml.ScalarNode {
			e.readKind(en.Node, doc.Of(en.Node).Name)
			continue
		}
		if en.Sentence == nil {
			e.Faults = append(e.Faults, sentence.Fault{File: doc.Of(en.Node).Name, Line: en.Node.Line, Column: en.Node.Column, Text: sentence.Quote(en.Key) + " wants a number"})
			continue
		}
		e.Try(func() {
			p := tree.NewParser(en.Sentence, tree.NewScope(e.Context, nil, ""))
			if p.Done() && digits(en.Key) && last.Sentence != nil && digits(strings.TrimSpace(last.Node.Value)) {
				said := strings.TrimSpace(last.Node.Value)
				e.Faults = append(e.Faults, sentence.Fault{File: doc.Of(last.Node).Name, Line: last.Node.Line, Column: last.Node.Column,
					Text: sentence.Quote(said+","+en.Key) + " has a comma inside a number", Mend: "did you mean " + sentence.Quote(said+"."+en.Key) + "? Else write the name of the measure behind the comma"})
				return
			}
			if p.Done() {
				p.Fail(0, "the measure "+sentence.Quote(en.Key)+" is missing", missingMeasure(en.Key))
			}
			if unicode.IsLetter(p.RuneAt(p.At)) && p.RuneAt(p.At) != 'a' {
				p.Fail(p.At, p.Seen()+" is no number", "write the figure: "+en.Key+": 57")
			}
			v := p.Sum()()
			if !p.Sign(',') {
				p.End()
			}
			if v <= 0 {
				p.Fail(0, sentence.Quote(en.Key)+" is "+sentence.FormatNumber(v), "a measure is more than 0")
			}
			e.Measures = append(e.Measures, measure{name: en.Key, value: v, Sentence: en.Sentence, unit: e.Unit})
			e.Top.Measure(en, v)
		})
	}
	e.iso()
}

// digits tells of a whole number.
func digits(s string) bool {
	return s != "" && strings.Trim(s, "0123456789") == ""
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
func (e *Draft) iso() {
	for _, m := range e.Measures {
		other := isoNames[m.name]
		for iso, plain := range isoNames {
			if plain == m.name {
				other = iso
			}
		}
		if _, ok := e.Top.Definitions[other]; other != "" {
			d := e.Top.Definitions[m.name]
			if !ok || e.Top.Definitions[other].Sentence == d.Sentence {
				e.Top.Copy(d, other)
			}
		}
	}
}

// BlameMeasures names unlikely measures beside what could not be drawn: they may well be the cause.
func (e *Draft) BlameMeasures() { e.Faults = append(e.Faults, e.unlikely...) }

// Options say what the draft itself may not.
type Options struct {
	// Body is the name of one of the draft's bodies, or of a measure card beside it; empty for the
	// draft's own choice.
	Body string
	// Card fetches a file that lies beside the draft, by name; nil where there is none.
	Card func(name string) ([]byte, error)
	// Toile wants the garment's toile: the main pieces with a wide allowance and the lines of the body.
	Toile bool
	// Left draws for the wearer's left side, where the sides differ; else it is the right one.
	Left bool
	// Block fetches the draft from which this one takes, by its bare name; nil where there is none.
	Block func(name string) ([]byte, error)
	// SeamTolerance is by how many mm the sides of a seam may differ where the draft says nothing; 0 means
	// pattern.SeamTolerance.
	SeamTolerance float64
	// Done, once closed, has the work given up at the next sentence, since nobody waits for it. Nil never is.
	Done <-chan struct{}
}

// SizesOf lists the bodies that an entry names, by commas or as a list, each once.
func SizesOf(at *yaml.Node) []string {
	var out []string
	put := func(s string) {
		if s = strings.TrimSpace(s); s != "" && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	switch at.Kind {
	case yaml.ScalarNode:
		for _, s := range strings.Split(at.Value, ",") {
			put(s)
		}
	case yaml.SequenceNode:
		for _, n := range at.Content {
			put(n.Value)
		}
	}
	return out
}

// toldBody is what was read of a body that is not drawn.
type toldBody struct {
	measures []measure
	top      *tree.Scope
}

// KnowBodies takes from a draft of the same document what it read of the bodies: each is read once for all sizes.
func (e *Draft) KnowBodies(from *Draft) { e.bodies = from.bodies }

// otherBodies reads the measures of the bodies that are not drawn now, so that a slip there is told
// today and not on the day when they are.
func (e *Draft) otherBodies(names []string, nodes map[string]*yaml.Node) {
	measures, top, kind := e.Measures, e.Top, e.kind
	defer func() { e.Measures, e.Top, e.kind = measures, top, kind }()
	if len(e.Faults) > 0 {
		return
	}
	for _, name := range names {
		if name == e.Body {
			continue
		}
		told, known := e.bodies[name]
		if !known {
			e.Measures, e.Top = nil, tree.NewScope(e.Context, nil, "")
			e.takeMeasures(e.Document, nodes[name])
			if len(e.Faults) > 0 {
				return
			}
			told = toldBody{e.Measures, e.Top}
			e.bodies[name] = told
		}
		if nodes[e.Body] == nil {
			continue // drawn for a card, which is for a whole wardrobe and may hold more than any draft needs
		}
		if slices.EqualFunc(told.measures, measures, func(a, b measure) bool { return a.name == b.name }) {
			continue // as mostly, and among a hundred bodies they are compared ten thousand times
		}
		var more []string
		for _, m := range told.measures {
			if top.Definitions[m.name] == nil {
				more = append(more, m.name)
			}
		}
		for _, m := range measures {
			if told.top.Definitions[m.name] != nil {
				continue
			}
			mend := "take it, if the draft needs it"
			if len(more) > 0 {
				mend = "it has " + strings.Join(more, ", ") + ", which " + e.Body + " has not: is one of the two misspelt?"
			}
			n := nodes[name]
			e.NoteAt(n.Line, n.Column, pattern.RuleMeasureUnlikely, pattern.Note, fmt.Sprintf("the body %q has no %q, and %s has", name, m.name, e.Body), mend)
		}
	}
}
