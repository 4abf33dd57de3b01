package measured

import (
	"fmt"
	"unicode"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/pattern"
)

// piece is one part that is cut.
type piece struct {
	name     string
	s        *sentence
	d        *drawing // nil for a rectangle or a strip
	sc       *scope
	edges    []outlineEdge // as cut, pleats opened
	worn     []outlineEdge // as sewn up
	open     *opened
	panel    *panel  // of a drawing that a princess seam divides
	form     *formed // of a drawing: its darts where they are sewn
	quantity int
	pair     bool
	onFold   bool
	material string
	grain    string // plumb, level, bias
	included bool   // the outline is the cut line
	note     string
	length   float64 // of a strip
	widths   []*edgeWidth
	notches  []notchAt
	marks    []innerLine
	drills   []orb.Point
	texts    []pattern.Label
}

// garment is a draft with the pieces that are made of its drawings.
type garment struct {
	*engine
	pieces []*piece
	gone   []string // pieces that were refused
}

// newGarment is a draft's garment before its pieces are made; the draft's numbers may ask for them.
func newGarment(e *engine) *garment {
	g := &garment{engine: e}
	e.ofPieces = g
	return g
}

// makePieces reads the pieces section.
func (e *garment) makePieces() {
	en, ok := e.secs["pieces"]
	if !ok {
		e.faults = append(e.faults, Fault{File: e.doc.name, Line: 1, Column: 1, Text: "the draft names no pieces", Mend: "add pieces: and a line for each"})
		return
	}
	for _, x := range e.entries(en.node) {
		if x.s == nil {
			e.fault(x.keyNode, "the piece "+quote(x.key)+" wants a sentence", "say which drawing it is, and how many to cut")
			continue
		}
		if !e.try(func() { e.makePiece(x) }) {
			e.gone = append(e.gone, x.key)
		}
	}
}

func (e *garment) makePiece(x entry) {
	pc := &piece{name: x.key, s: x.s, grain: "plumb", sc: e.top}
	p := newParser(x.s, e.top)
	p.space()
	begin := p.i
	drawn, _ := p.name(e.drawOrder)
	p.i = begin
	angle, circle := 0.0, false
	if len(drawn) < len("full circle") { // a drawing of that name comes first
		angle, circle = p.circleAngle()
	}
	switch {
	case circle:
		e.circlePiece(pc, p, angle, begin)
	case p.take("rectangle"):
		w := p.side2("wide")
		p.take("by")
		p.sign(',')
		if p.done() || p.runeAt(p.i) == ';' {
			p.fail(p.i, "the other side of the rectangle is not said", "say rectangle "+num(w)+" by, and the other side")
		}
		e.rectangle(pc, w, p.side2("high"), p, [4]string{"top", "side", "bottom", "far side"})
	case p.take("strip"):
		w := p.side2("wide")
		p.take("by")
		p.sign(',')
		pc.length = p.side2("long")
		e.rectangle(pc, pc.length, w, p, [4]string{"long edge", "end", "far edge", "far end"})
	case len(drawn) < len("rough block of") && p.take("rough block of"):
		e.roughBlock(pc, p)
	case p.take("facing"):
		e.facing(pc, p)
	default:
		e.fromDrawing(pc, p)
	}
	for p.nextClause() {
		p.clause(pc)
	}
	p.end()
	if pc.quantity == 0 {
		p.fail(len(x.s.text), "how many of "+quote(pc.name)+" to cut is not said", "add ; cut 1, ; cut 2, a pair, or ; cut 1 on the fold")
	}
	pc.checkFold(p)
	e.pieces = append(e.pieces, pc)
}

// side2 reads a length and the word that may stand behind it.
func (p *parser) side2(word string) float64 {
	at := p.i
	v := p.sum()
	p.take(word)
	if v <= 0 {
		p.fail(at, "a side of "+num(v), "a side is more than 0")
	}
	return v
}

// rectangle makes a piece of which only the sides are told.
func (e *garment) rectangle(pc *piece, w, h float64, p *parser, names [4]string) {
	c := [4]orb.Point{{0, 0}, {w, 0}, {w, h}, {0, h}}
	for i, n := range names {
		pc.edges = append(pc.edges, outlineEdge{name: n, c: curve{lineSeg(c[i], c[(i+1)%4])}, line: p.s.lines[0], col: p.s.cols[0]})
	}
	pc.worn = pc.edges
}

func (e *garment) fromDrawing(pc *piece, p *parser) {
	p.space()
	at := p.i
	n, ok := p.name(e.drawOrder)
	if !ok {
		mend := nearest(firstWords(p.phrase(), 2), append(append([]string{"rectangle", "strip", "facing", "rough block of"}, circleWords...), e.drawOrder...))
		if !p.done() && unicode.IsDigit(p.runeAt(p.i)) {
			mend = "say rectangle first: rectangle " + firstWords(p.phrase(), 3)
		}
		if p.clauseAhead() {
			mend = "say first of which drawing it is cut, then a semicolon and how many"
		}
		p.fail(at, quote(p.phrase())+" is no drawing of this draft", mend)
	}
	d := e.draws[n]
	if d.state != 2 {
		p.fail(at, "the drawing "+quote(n)+" has no outline, so it makes no piece", "add outline: and its edges in order")
	}
	if d.princess.s != nil {
		d = p.ofPanel(pc, d)
	}
	pc.d, pc.sc = d, d.sc
	pc.form = d.form()
	pc.worn, pc.edges = pc.form.worn, pc.form.edges
	if p.sign(',') && !p.clauseAhead() {
		p.want("as worn", "")
		return
	}
	if o := d.open(); o != nil {
		pc.open, pc.edges = o, o.edges
		pc.marks = append(pc.marks, o.lines...)
		pc.drills = append(pc.drills, o.tacks...)
	}
}

// ofPanel reads ", centre to princess": the part of a divided drawing in which that edge lies.
func (p *parser) ofPanel(pc *piece, d *drawing) *drawing {
	if !p.sign(',') {
		p.fail(p.i, quote(d.name)+" is divided by a princess seam, and which part is meant is not said", "say "+d.name+", and an edge of the part, then to princess")
	}
	first := p.take("princess to")
	p.space()
	at := p.i
	name := d.edges[d.edgeNamed(p)].name
	if !first {
		p.want("to princess", " behind an edge of the part")
	}
	var found []*panel
	ps := d.divide()
	for k := range ps {
		for _, ed := range ps[k].d.edges {
			if ed.name == name {
				found = append(found, &ps[k])
			}
		}
	}
	if len(found) != 1 {
		p.fail(at, "the princess seam divides the edge "+quote(name), "name an edge that lies in one part only")
	}
	pc.panel = found[0]
	return found[0].d
}

// checkFold holds the number to cut against the drawing: a half is cut on the fold, and what is cut
// on the fold is a half.
func (pc *piece) checkFold(p *parser) {
	fold := false
	for _, ed := range pc.edges {
		fold = fold || ed.fold
	}
	switch {
	case fold && !pc.onFold:
		p.fail(0, fmt.Sprintf("the drawing of %q has an edge on the fold, and the piece is not cut on the fold", pc.name), "say cut 1 on the fold, or take on the fold out of the outline")
	case pc.onFold && !fold:
		p.fail(0, fmt.Sprintf("%q is cut on the fold, and no edge of its drawing lies on it", pc.name), "say on the fold behind the edge in the outline")
	}
}
