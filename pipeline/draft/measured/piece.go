package measured

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
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

// makePieces reads the pieces section.
func (e *engine) makePieces() {
	en, ok := e.secs["pieces"]
	if !ok {
		e.faults = append(e.faults, Fault{File: e.doc.name, Line: 1, Column: 1, Text: "the draft names no pieces", Mend: "add pieces: and a line for each"})
		return
	}
	for _, x := range e.entries(en.node) {
		if x.s == nil {
			e.fault(x.node, "the piece "+quote(x.key)+" wants a sentence", "say which drawing it is, and how many to cut")
			continue
		}
		if !e.try(func() { e.makePiece(x) }) {
			e.gone = append(e.gone, x.key)
		}
	}
}

func (e *engine) makePiece(x entry) {
	pc := &piece{name: x.key, s: x.s, grain: "plumb", sc: e.top}
	p := &parser{s: x.s, sc: e.top}
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
		e.circle(pc, p, angle, begin)
	case p.take("rectangle"):
		w := p.side2("wide")
		p.take("by")
		p.sign(',')
		e.rectangle(pc, w, p.side2("high"), p, [4]string{"top", "side", "bottom", "far side"})
	case p.take("strip"):
		w := p.side2("wide")
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
func (e *engine) rectangle(pc *piece, w, h float64, p *parser, names [4]string) {
	c := [4]orb.Point{{0, 0}, {w, 0}, {w, h}, {0, h}}
	for i, n := range names {
		pc.edges = append(pc.edges, outlineEdge{name: n, c: curve{lineSeg(c[i], c[(i+1)%4])}, line: p.s.lines[0], col: p.s.cols[0]})
	}
	pc.worn = pc.edges
}

func (e *engine) fromDrawing(pc *piece, p *parser) {
	p.space()
	at := p.i
	n, ok := p.name(e.drawOrder)
	if !ok {
		mend := nearest(firstWords(p.phrase(), 2), append(append([]string{"rectangle", "strip", "facing", "rough block of"}, circleWords...), e.drawOrder...))
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

// edge finds an edge by name, -1 where there is none.
func (pc *piece) edge(name string) int {
	for i, ed := range pc.edges {
		if ed.name == name {
			return i
		}
	}
	return -1
}

func (pc *piece) edgeNames() []string {
	var out []string
	for _, ed := range pc.edges {
		out = append(out, ed.name)
	}
	return out
}

// isGone tells whether a phrase is about a piece that was refused, of which no more need be said.
func (e *engine) isGone(phrase string) bool {
	for _, n := range e.gone {
		if phrase == n || strings.HasPrefix(phrase, n+" ") {
			return true
		}
	}
	return false
}

// nearPiece keeps the names that begin with the piece a phrase begins with, if it begins with one.
func (e *engine) nearPiece(phrase string, names []string) []string {
	var out []string
	for _, pc := range e.pieces {
		if strings.HasPrefix(phrase, pc.name+" ") {
			for _, n := range pc.edgeNames() {
				out = append(out, pc.name+" "+n)
			}
		}
	}
	if out == nil {
		return names
	}
	return out
}

// pieceEdges lists all edges, each with its piece's name before it.
func (e *engine) pieceEdges() []string {
	var names []string
	for _, pc := range e.pieces {
		for _, ed := range pc.edges {
			names = append(names, pc.name+" "+ed.name)
		}
	}
	return names
}

// pieceEdge reads "front shoulder": a piece's name and one of its edges.
func (p *parser) pieceEdge() (*piece, int) {
	e := p.sc.eng
	p.space()
	at := p.i
	names := e.pieceEdges()
	n, ok := p.name(names)
	if !ok {
		if e.isGone(p.phrase()) {
			panic(blocked{})
		}
		p.fail(at, quote(p.phrase())+" is no edge of a piece", nearest(p.phrase(), e.nearPiece(p.phrase(), names)))
	}
	for _, pc := range e.pieces {
		if rest, ok := strings.CutPrefix(n, pc.name+" "); ok {
			if i := pc.edge(rest); i >= 0 {
				return pc, i
			}
		}
	}
	return nil, -1
}

// ccw is 1 where the outline runs so that the piece lies to the left in the draft's frame.
func ccw(edges []outlineEdge) float64 {
	var a float64
	for _, ed := range edges {
		a += ed.c.area()
	}
	return sign(a)
}

// area is the enclosed area in the draft's unit.
func area(edges []outlineEdge) float64 {
	var a float64
	for _, ed := range edges {
		a += ed.c.area()
	}
	return math.Abs(a)
}

// flat brings a point of the drawing as worn onto the piece as cut.
func (pc *piece) flat(q orb.Point) orb.Point {
	q = pc.carry(q)
	if pc.open == nil {
		return q
	}
	return pc.open.flat(q)
}

// carry brings a point of the drawing to where it lies once darts are moved; pleats are still closed.
func (pc *piece) carry(q orb.Point) orb.Point {
	if pc.form == nil {
		return q
	}
	return pc.form.carry(q)
}

// place is where on the cut piece an edge as worn has run l from its start.
func (pc *piece) place(i int, l float64) orb.Point {
	at, _ := pc.worn[i].c.at(l)
	if pc.open == nil {
		return at
	}
	n := len(pc.edges)
	o := pc.open
	if i == o.e1 || i == o.e2 {
		return o.flat(at)
	}
	for k := (o.e1 + 1) % n; k != o.e2; k = (k + 1) % n {
		if k == i {
			return o.maps[len(o.maps)-1].Apply(at)
		}
	}
	return at
}

func (e *engine) mm(q orb.Point) orb.Point { return geom.Mul(orb.Point{q[0], -q[1]}, e.unitMM) }
