package drafting

import (
	"cmp"
	"slices"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/pattern"
)

// Build reads all names into scopes, then what tells numbers, points, edges and outlines; nothing is worked out yet. It
// gives false where the names are not all known, so that no more can be read.
func (e *Draft) Build(opt Options) bool {
	secs := map[string]sentence.Entry{}
	var drawings []sentence.Entry
	e.Toile, e.left, e.SeamTolerance = opt.Toile, opt.Left, cmp.Or(opt.SeamTolerance, pattern.SeamTolerance)
	if !e.bringIn(opt) {
		return false
	}
	top := e.Entries(e.Document.Root)
	if card := isCard(top); card != nil {
		e.AddFault(card, "this is a measure card, not a draft",
			"put it beside the draft, or into the workroom's folder cards; a line card: in the draft, or body: in its ticket, names it")
		return false
	}
	if ticket := isTicket(top); ticket != nil {
		e.AddFault(ticket, "this is a ticket, not a draft", "a ticket is called as its draft, with .ticket.yaml behind: smock.ticket.yaml, or smock.yaml.ticket.yaml")
		return false
	}
	for _, en := range top {
		if strings.HasPrefix(en.Key, "draft ") {
			drawings = append(drawings, en)
			continue
		}
		if !slices.Contains(TopKeys, en.Key) {
			if en.Key == "draft" {
				e.AddFault(en.KeyNode, "draft stands without the name of a drawing", "say draft and what it is: draft front:; what the whole is called stands behind style:")
				continue
			}
			known := append([]string{"draft"}, TopKeys...)
			if en.Node.Kind == yaml.MappingNode {
				known = slices.DeleteFunc(known, func(k string) bool { return k == "from" }) // it holds no lines
			}
			mend := sentence.Nearest(en.Key, known)
			if bare := strings.TrimPrefix(en.Key, "draft"); en.Node.Kind == yaml.MappingNode && nameable(bare) && !strings.HasPrefix(mend, "did") {
				mend = "a drawing's block begins with draft " + bare + ":"
			}
			e.AddFault(en.KeyNode, sentence.Quote(en.Key)+" is no key of a draft", mend)
			continue
		}
		secs[en.Key] = en
	}
	slips := len(e.Faults)
	e.readUnit(secs)
	if misspelt := e.Faults[slips:]; len(misspelt) > 0 && e.Unit != "" && slips == 0 { // read on by the unit that is meant, so that all slips are told at once
		e.Faults = e.Faults[:0:0]
		defer func() { e.Faults = append(misspelt, e.Faults...) }()
	}
	if len(e.Faults) > 0 {
		return false
	}
	if en, ok := secs["wearer"]; ok && en.Sentence == nil {
		e.AddFault(en.Node, "\"wearer\" wants a name, not more keys", "say card: and the measure card in a line of its own; the card says when it was taken")
	}
	if en, ok := secs["kind"]; ok {
		e.readKind(en.Node, e.Document.Name)
	}
	e.readBody(secs, opt)
	e.supposeMeasures()
	if en, ok := secs["numbers"]; ok {
		for _, d := range e.Entries(en.Node) {
			e.define(e.Top, d, true)
		}
	}
	e.takeOneSided()
	e.applyChanges()
	for _, en := range drawings {
		e.readDrawing(en)
	}
	e.Sections = secs
	if len(e.Faults) > 0 {
		return false
	}
	e.readSentences()
	return true
}

// isCard gives the place of the measures of what is a card and no draft, else nil.
func isCard(top []sentence.Entry) *yaml.Node {
	var at *yaml.Node
	for _, en := range top {
		switch {
		case en.Key == "measures":
			at = en.KeyNode
		case en.Key == "pieces" || strings.HasPrefix(en.Key, "draft "):
			return nil
		}
	}
	return at
}

// isTicket gives the place of the first key of what is a ticket and no draft, else nil.
func isTicket(top []sentence.Entry) *yaml.Node {
	for _, en := range top {
		own := slices.Contains([]string{"copies", "material", "allowance"}, en.Key) // no key of a draft
		shared := slices.Contains([]string{"sizes", "body", "unit", "note"}, en.Key) || en.Key == "pieces" && en.Node.Kind != yaml.MappingNode
		if !own && !(shared && en.Node.Kind != yaml.MappingNode) {
			return nil
		}
	}
	if len(top) == 0 {
		return nil
	}
	return top[0].KeyNode
}

func (e *Draft) readUnit(secs map[string]sentence.Entry) {
	en, ok := secs["unit"]
	if !ok && len(e.Faults) > 0 {
		return // its line may be one of those not understood
	}
	if !ok {
		e.Faults = append(e.Faults, sentence.Fault{File: e.Document.Name, Line: 1, Column: 1, Text: "the draft does not say its unit", Mend: "add a line unit: cm (or mm, or in)"})
		return
	}
	e.Unit = e.Text(en)
	mm, ok := sentence.Units[e.Unit]
	if !ok {
		text, mend := sentence.UnknownUnit(e.Unit)
		e.AddFault(en.Node, text, mend)
		if e.Unit = sentence.UnitMeant(e.Unit); e.Unit == "" {
			return
		}
		mm = sentence.Units[e.Unit]
	}
	e.UnitMM = mm
}

// define enters one named sentence into a scope.
func (e *Draft) define(sc *tree.Scope, en sentence.Entry, number bool) {
	if en.Sentence == nil {
		e.AddFault(en.KeyNode, sentence.Quote(en.Key)+" wants a sentence", "")
		return
	}
	if strings.TrimSpace(en.Node.Value) == "" {
		e.AddFault(en.KeyNode, sentence.Quote(en.Key)+" says nothing", "tell it, or take the line out")
		return
	}
	if !nameable(en.Key) {
		e.AddFault(en.KeyNode, sentence.Quote(en.Key)+" cannot be a name", "a name is letters, digits and ', words apart by spaces, and begins with a letter")
		return
	}
	if text := strings.TrimSpace(en.Node.Value); strings.HasSuffix(text, ",") {
		e.AddFault(en.Node, sentence.Quote(en.Key)+" ends with a comma", "say what follows it, or take the comma out")
		return
	}
	if slices.Contains(joining, en.Key) {
		e.AddFault(en.KeyNode, sentence.Quote(en.Key)+" is a word of the sentences, and cannot be a name", "take another: a letter, or some words")
		return
	}
	k := tree.NumberKind
	if !number {
		k = tree.KindOf(en.Sentence)
	}
	sc.Define(en, k)
}

// joining are words that stand between names; as a name, one would be taken for the other.
var joining = []string{"from", "to", "out", "up", "down", "of", "at", "on", "by", "and", "through", "toward", "towards", "away",
	"along", "about", "round", "where", "meets", "falling", "rising", "square", "then", "half-way", "start", "behind", "for"}

func nameable(s string) bool {
	for i, r := range s {
		if !sentence.IsWordRune(r) && r != ' ' && r != '-' || i == 0 && (r < 'A' || r > 'Z' && r < 'a') {
			return false
		}
	}
	return s != ""
}

// readDrawing reads the block of one drawing; one that traces another begins with its sentences.
func (e *Draft) readDrawing(en sentence.Entry) {
	name := strings.TrimPrefix(en.Key, "draft ")
	d := &Drawing{Name: name, At: en.KeyNode, Lent: e.Document.Of(en.KeyNode) != e.Document, Scope: tree.NewScope(e.Context, e.Top, name)}
	if en.Node.Kind != yaml.MappingNode {
		e.AddFault(en.Node, "the drawing "+sentence.Quote(name)+" holds no points and edges", "")
		return
	}
	if name == "strip" || name == "rectangle" || name == "facing" {
		e.AddFault(en.KeyNode, sentence.Quote(name)+" is a word of the sentences of pieces, and cannot be the name of a drawing", "put a word before it: draft waist "+name)
		return
	}
	if !nameable(name) {
		e.AddFault(en.KeyNode, sentence.Quote(name)+" cannot be the name of a drawing", "take another name: letters and words")
		return
	}
	e.Drawings[name] = d
	e.DrawingOrder, e.Scopes = append(e.DrawingOrder, name), append(e.Scopes, d.Scope)
	for _, x := range e.Entries(en.Node) {
		switch {
		case x.Key == "trace":
			e.trace(d, x)
		case x.Key == "outline" && x.Sentence != nil:
			d.Outline = x.Sentence
		case isPleat(x):
			d.PleatEntries = replaced(d.PleatEntries, x)
		case isPrincess(x):
			d.PrincessEntry = x
		case isFlare(x), IsDartKey(x.Key):
			d.ShapeEntries = replaced(d.ShapeEntries, x)
		default:
			e.define(d.Scope, x, false)
		}
	}
}

// replaced puts an entry in its place: that of an older one of its name, else behind all others.
func replaced(list []sentence.Entry, x sentence.Entry) []sentence.Entry {
	for i := range list {
		if list[i].Key == x.Key {
			list[i] = x
			return list
		}
	}
	return append(list, x)
}

// trace copies another drawing's sentences: "front", or "front, without pleat".
func (e *Draft) trace(d *Drawing, en sentence.Entry) {
	if en.Sentence == nil {
		e.AddFault(en.Node, "trace wants the name of a drawing", "")
		return
	}
	e.Try(func() {
		p := tree.NewParser(en.Sentence, d.Scope)
		src, ok := p.Name(e.DrawingOrder)
		if !ok || src == d.Name {
			p.Fail(p.At, sentence.Quote(p.Phrase())+" is no drawing above this one", e.Nearest(p.Word(), e.DrawingOrder[:len(e.DrawingOrder)-1]))
		}
		from := e.Drawings[src]
		d.Outline, d.traced = from.Outline, from
		skip := map[string]bool{}
		p.Sign(',')
		if w := p.Word(); w == "but" || w == "no" || w == "not" || w == "except" {
			p.Fail(p.At, p.Seen()+" is not understood", "say without, and what this drawing leaves out")
		}
		if p.Take("without") {
			var known []string
			known = append(known, from.Scope.Order...)
			for _, x := range append(from.PleatEntries[:len(from.PleatEntries):len(from.PleatEntries)], from.ShapeEntries...) {
				known = append(known, x.Key)
			}
			if from.PrincessEntry.Sentence != nil {
				known = append(known, "princess")
			}
			for {
				n, ok := p.Name(known)
				if !ok && p.Take("the") {
					n, ok = p.Name(known)
				}
				if !ok {
					p.Space()
					p.Fail(p.At, sentence.Quote(p.Phrase())+" is not in the drawing "+sentence.Quote(src), e.Nearest(p.Word(), known))
				}
				skip[n] = true
				if !p.Sign(',') && !p.Take("and") {
					break
				}
			}
		}
		p.End()
		for _, n := range from.Scope.Order {
			if !skip[n] {
				d.Scope.Trace(from.Scope.Definitions[n], en.Sentence)
			}
		}
		for _, x := range from.PleatEntries {
			if !skip[x.Key] {
				d.PleatEntries = replaced(d.PleatEntries, x)
			}
		}
		for _, x := range from.ShapeEntries {
			if !skip[x.Key] {
				d.ShapeEntries = replaced(d.ShapeEntries, x)
			}
		}
		if !skip["princess"] {
			d.PrincessEntry = from.PrincessEntry
		}
	})
}

// readSentences reads what tells numbers, points, edges and outlines.
func (e *Draft) readSentences() {
	e.Top.Read()
	for _, n := range e.DrawingOrder {
		d := e.Drawings[n]
		if !d.Lent { // a bodice made of a block asks for no arm
			d.Scope.Read()
		}
		if d.Outline != nil {
			d.readable = e.Try(d.readOutline)
		}
	}
}

// WorkOut works everything out: numbers, points, edges and outlines.
func (e *Draft) WorkOut() {
	e.Top.Work()
	for _, n := range e.DrawingOrder {
		d := e.Drawings[n]
		if d.Lent && !d.Wanted {
			continue
		}
		d.Scope.Work()
		if d.Outline != nil {
			e.Try(func() { d.WorkOut(nil, 0) })
		}
		d.noteMovedWhole()
	}
}
