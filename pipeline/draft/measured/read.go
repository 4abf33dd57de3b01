// Package measured reads garments drawn from body measures: a draft that is written as a cutter
// says it, in the order of work. See REFERENCE.md for the form.
//
// Inside, all lengths are in the draft's own unit, x out from the centre, y down; the pattern that
// comes out is in mm, y up.
package measured

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/pattern"
)

// Options say what the draft itself may not.
type Options struct {
	// Body is the name of one of the draft's bodies, or of a measure card beside it; empty for the
	// draft's own choice.
	Body string
	// Card fetches a file that lies beside the draft, by name; nil where there is none.
	Card func(name string) ([]byte, error)
}

// draw works a draft out for one body.
func draw(data []byte, name string, opt Options) (*sewing, error) {
	doc, faults := parseDoc(data, name)
	if faults != nil {
		return nil, &Error{name, faults}
	}
	e := newEngine(doc)
	e.build(opt)
	g := &sewing{garment: newGarment(e)}
	if len(e.faults) == 0 {
		g.finish()
	}
	if len(e.faults) > 0 {
		err := &Error{name, e.faults}
		err.sort()
		return nil, err
	}
	return g, nil
}

// build reads every section into scopes; nothing is worked out yet.
func (e *engine) build(opt Options) {
	secs := map[string]entry{}
	var drawings []entry
	top := e.entries(e.doc.root)
	if card := isCard(top); card != nil {
		e.fault(card, "this is a measure card, not a draft",
			"put it beside the draft, or into the workroom's folder cards; a line card: in the draft, or body: in its ticket, names it")
		return
	}
	for _, en := range top {
		if strings.HasPrefix(en.key, "draft ") {
			drawings = append(drawings, en)
			continue
		}
		if !slices.Contains(topKeys, en.key) {
			mend := nearest(en.key, append([]string{"draft"}, topKeys...))
			if bare := strings.TrimPrefix(en.key, "draft"); en.node.Kind == yaml.MappingNode && nameable(bare) && !strings.HasPrefix(mend, "did") {
				mend = "a drawing's block begins with draft " + bare + ":"
			}
			e.fault(en.keyNode, quote(en.key)+" is no key of a draft", mend)
			continue
		}
		secs[en.key] = en
	}
	e.readUnit(secs)
	if len(e.faults) > 0 {
		return
	}
	if en, ok := secs["wearer"]; ok && en.s == nil {
		e.fault(en.node, "\"wearer\" wants a name, not more keys", "say card: and the measure card in a line of its own; the card says when it was taken")
	}
	e.readBody(secs, opt)
	if en, ok := secs["numbers"]; ok {
		for _, d := range e.entries(en.node) {
			e.define(e.top, d, isNumber)
		}
	}
	e.applyChanges()
	for _, en := range drawings {
		e.readDrawing(en)
	}
	e.nameLists = map[nameKey][]string{}
	e.secs = secs
}

// isCard gives the place of the measures of what is a card and no draft, else nil.
func isCard(top []entry) *yaml.Node {
	var at *yaml.Node
	for _, en := range top {
		switch {
		case en.key == "measures":
			at = en.keyNode
		case en.key == "pieces" || strings.HasPrefix(en.key, "draft "):
			return nil
		}
	}
	return at
}

func (e *engine) readUnit(secs map[string]entry) {
	en, ok := secs["unit"]
	if !ok && len(e.faults) > 0 {
		return // its line may be one of those not understood
	}
	if !ok {
		e.faults = append(e.faults, Fault{File: e.doc.name, Line: 1, Column: 1, Text: "the draft does not say its unit", Mend: "add a line unit: cm (or mm, or in)"})
		return
	}
	e.unit = e.text(en)
	mm, ok := units[e.unit]
	if !ok {
		mend := "say mm, cm or in"
		if strings.HasPrefix(e.unit, "inch") {
			mend = "say in"
		}
		e.fault(en.node, quote(e.unit)+" is no unit", mend)
		return
	}
	e.unitMM = mm
}

// define enters one named sentence into a scope.
func (e *engine) define(sc *scope, en entry, only kind) {
	if en.s == nil {
		e.fault(en.keyNode, quote(en.key)+" wants a sentence", "")
		return
	}
	if strings.TrimSpace(en.node.Value) == "" {
		e.fault(en.keyNode, quote(en.key)+" says nothing", "tell it, or take the line out")
		return
	}
	if !nameable(en.key) {
		e.fault(en.keyNode, quote(en.key)+" cannot be a name", "a name is letters, digits and ', words apart by spaces, and begins with a letter")
		return
	}
	if text := strings.TrimSpace(en.node.Value); strings.HasSuffix(text, ",") {
		e.fault(en.node, quote(en.key)+" ends with a comma", "say what follows it, or take the comma out")
		return
	}
	if slices.Contains(joining, en.key) {
		e.fault(en.keyNode, quote(en.key)+" is a word of the sentences, and cannot be a name", "take another: a letter, or some words")
		return
	}
	k := kindOf(en.s)
	if only == isNumber {
		k = isNumber
	}
	sc.set(&def{name: en.key, s: en.s, line: en.keyNode.Line, col: en.keyNode.Column, sc: sc, kind: k})
}

// joining are words that stand between names; as a name, one would be taken for the other.
var joining = []string{"from", "to", "out", "up", "down", "of", "at", "on", "by", "and", "through", "toward", "towards", "away",
	"along", "about", "round", "where", "meets", "falling", "rising", "square", "then", "half-way", "start", "behind", "for"}

func nameable(s string) bool {
	for i, r := range s {
		if !wordRune(r) && r != ' ' && r != '-' || i == 0 && (r < 'A' || r > 'Z' && r < 'a') {
			return false
		}
	}
	return s != ""
}

// readDrawing reads the block of one drawing; one that traces another begins with its sentences.
func (e *engine) readDrawing(en entry) {
	name := strings.TrimPrefix(en.key, "draft ")
	d := &drawing{name: name, sc: newScope(e, e.top, name)}
	if en.node.Kind != yaml.MappingNode {
		e.fault(en.node, "the drawing "+quote(name)+" holds no points and edges", "")
		return
	}
	if name == "strip" || name == "rectangle" || name == "facing" || !nameable(name) {
		e.fault(en.keyNode, quote(name)+" cannot be the name of a drawing", "take another name: letters and words")
		return
	}
	e.draws[name] = d
	e.drawOrder = append(e.drawOrder, name)
	e.doc.lineOf[name] = en.keyNode.Line
	for _, x := range e.entries(en.node) {
		switch {
		case x.key == "trace":
			e.trace(d, x)
		case x.key == "outline" && x.s != nil:
			d.outline = x.s
		case isPleatKey(x.key):
			d.pleats = told(d.pleats, x)
		case isPrincess(x):
			d.princess = x
		case isFlare(x), isDartKey(x.key):
			d.shapes = told(d.shapes, x)
		default:
			e.define(d.sc, x, -1)
		}
	}
}

// told puts an entry in its place: that of an older one of its name, else behind all others.
func told(list []entry, x entry) []entry {
	for i := range list {
		if list[i].key == x.key {
			list[i] = x
			return list
		}
	}
	return append(list, x)
}

// trace copies another drawing's sentences: "front", or "front, without pleat".
func (e *engine) trace(d *drawing, en entry) {
	if en.s == nil {
		e.fault(en.node, "trace wants the name of a drawing", "")
		return
	}
	e.try(func() {
		p := newParser(en.s, d.sc)
		src, ok := p.name(e.drawOrder)
		if !ok || src == d.name {
			p.fail(p.i, quote(p.phrase())+" is no drawing above this one", nearest(p.word(), e.drawOrder[:len(e.drawOrder)-1]))
		}
		from := e.draws[src]
		d.outline = from.outline
		skip := map[string]bool{}
		p.sign(',')
		if w := p.word(); w == "but" || w == "no" || w == "not" || w == "except" {
			p.fail(p.i, p.seen()+" is not understood", "say without, and what this drawing leaves out")
		}
		if p.take("without") {
			var known []string
			known = append(known, from.sc.order...)
			for _, x := range append(from.pleats[:len(from.pleats):len(from.pleats)], from.shapes...) {
				known = append(known, x.key)
			}
			if from.princess.s != nil {
				known = append(known, "princess")
			}
			for {
				n, ok := p.name(known)
				if !ok && p.take("the") {
					n, ok = p.name(known)
				}
				if !ok {
					p.space()
					p.fail(p.i, quote(p.phrase())+" is not in the drawing "+quote(src), nearest(p.word(), known))
				}
				skip[n] = true
				if !p.sign(',') && !p.take("and") {
					break
				}
			}
		}
		p.end()
		for _, n := range from.sc.order {
			if !skip[n] {
				c := *from.sc.defs[n]
				c.sc = d.sc
				d.sc.set(&c)
			}
		}
		for _, x := range from.pleats {
			if !skip[x.key] {
				d.pleats = told(d.pleats, x)
			}
		}
		for _, x := range from.shapes {
			if !skip[x.key] {
				d.shapes = told(d.shapes, x)
			}
		}
		if !skip["princess"] {
			d.princess = from.princess
		}
	})
}

// finish works everything out: numbers, drawings, pieces, then what is checked over all of them.
func (e *sewing) finish() {
	e.plausible()
	for _, n := range e.top.order {
		e.evaluate(e.top.defs[n])
	}
	for _, dn := range e.drawOrder {
		d := e.draws[dn]
		for _, n := range d.sc.order {
			e.evaluate(d.sc.defs[n])
		}
		if d.outline != nil {
			e.try(func() { d.work(e.engine, newParser(d.outline, d.sc), 0) })
		}
	}
	if len(e.faults) > 0 {
		e.blameMeasures()
		return
	}
	e.makePieces()
	e.makeAllowances()
	e.makeNotches()
	e.makeMarks()
	e.makeCloths()
	if len(e.faults) > 0 {
		return
	}
	e.walkSeams()
	e.deepNotches()
	e.proveEase()
	e.listNotions()
	e.unused()
	sort.SliceStable(e.findings, func(i, j int) bool { return e.findings[i].Line < e.findings[j].Line })
}

func (e *engine) evaluate(d *def) {
	if d.state != 0 {
		return
	}
	e.try(func() { d.work(newParser(d.s, d.sc), 0) })
}

// note adds a finding about a place of the draft.
func (e *engine) note(s *sentence, rule string, sev pattern.Severity, text, mend string) *pattern.Finding {
	f := pattern.NewFinding(rule, text, mend)
	f.Severity, f.Line, f.Column = sev, s.lines[0], s.cols[0]
	e.findings = append(e.findings, f)
	return &e.findings[len(e.findings)-1]
}

func (e *engine) say(v float64) string { return fmt.Sprintf("%s %s", num(v), e.unit) }
