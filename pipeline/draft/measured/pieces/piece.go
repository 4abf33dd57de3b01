// Package pieces makes what is cut: from a drawing, a circle, a strip, a rough block or a facing, with how
// many, allowances, notches and marks. It takes a draft that is worked out and gives a Garment, which also
// answers what numbers ask of pieces. Lengths are in the draft's unit unless mm are said.
package pieces

import (
	"fmt"
	"unicode"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/darts"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/panels"
	"tracewheel/pipeline/draft/measured/pleats"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/pattern"
)

// Piece is one part that is cut.
type Piece struct {
	Name     string
	Sentence *sentence.Sentence
	Drawing  *drafting.Drawing // nil for a rectangle or a strip
	Scope    *tree.Scope
	Edges    []curve.Edge // as cut, pleats opened
	Worn     []curve.Edge // as sewn up
	Open     *pleats.Opened
	Panel    *panels.Panel // of a drawing that a princess seam divides
	Form     *darts.Formed // of a drawing: its darts where they are sewn
	Quantity int
	Pair     bool
	Alike    bool // all of one hand
	OnFold   bool
	Material string
	Grain    string   // plumb, level, bias
	Included bool     // the outline is the cut line
	Pointed  []string // edges that are meant to make a point where they meet the fold
	Note     string
	length   float64 // of a strip
	Widths   []*edgeWidth
	Notches  []Notch
	Marks    []pleats.InnerLine
	Drills   []orb.Point
	Texts    []pattern.Label
}

// Garment is a draft with the pieces that are made of its drawings.
type Garment struct {
	*drafting.Draft
	Pieces []*Piece
	gone   []string // pieces that were refused

	// CutArmholes says of the widths asked for since it was emptied which of them lie above the underarm.
	CutArmholes []string
}

// NewGarment is a draft's garment before its pieces are made; the draft's numbers may ask for them.
func NewGarment(e *drafting.Draft) *Garment {
	g := &Garment{Draft: e}
	e.OfPieces = g
	return g
}

// Read reads what shapes the drawings, so that every slip of the pen is told at once.
func (e *Garment) Read() {
	for _, n := range e.DrawingOrder {
		d := e.Drawings[n]
		darts.Read(d)
		pleats.Read(d)
		panels.Read(d)
	}
}

// MakePieces reads the pieces section.
func (e *Garment) MakePieces() {
	en, ok := e.Sections["pieces"]
	if !ok {
		e.Faults = append(e.Faults, sentence.Fault{File: e.Document.Name, Line: 1, Column: 1, Text: "the draft names no pieces", Mend: "add pieces: and a line for each"})
		return
	}
	for _, x := range e.Entries(en.Node) {
		if x.Sentence == nil {
			e.AddFault(x.KeyNode, "the piece "+sentence.Quote(x.Key)+" wants a sentence", "say which drawing it is, and how many to cut")
			continue
		}
		if !e.Try(func() { e.makePiece(x) }) {
			e.gone = append(e.gone, x.Key)
		}
	}
}

func (e *Garment) makePiece(x sentence.Entry) {
	pc := &Piece{Name: x.Key, Sentence: x.Sentence, Grain: "plumb", Scope: e.Top}
	p := tree.NewParser(x.Sentence, e.Top)
	p.Space()
	begin := p.At
	drawn, _ := p.Name(e.DrawingOrder)
	p.At = begin
	angle, circle := 0.0, false
	if len(drawn) < len("full circle") { // a drawing of that name comes first
		angle, circle = circleAngle(p)
	}
	switch {
	case circle:
		e.circlePiece(pc, p, angle, begin)
	case p.Take("rectangle"):
		w := sideLength(p, "wide")
		p.Take("by")
		p.Sign(',')
		if p.Done() || p.RuneAt(p.At) == ';' {
			p.Fail(p.At, "the other side of the rectangle is not said", "say rectangle "+sentence.FormatNumber(w)+" by, and the other side")
		}
		e.rectangle(pc, w, sideLength(p, "high"), p, [4]string{"top", "side", "bottom", "far side"})
	case p.Take("strip"):
		w := sideLength(p, "wide")
		p.Take("by")
		p.Sign(',')
		pc.length = sideLength(p, "long")
		e.rectangle(pc, pc.length, w, p, [4]string{"long edge", "end", "far edge", "far end"})
	case len(drawn) < len("rough block of") && p.Take("rough block of"):
		e.roughBlock(pc, p)
	case p.Take("facing"):
		e.facing(pc, p)
	default:
		e.fromDrawing(pc, p)
	}
	for nextClause(p) {
		readClause(p, pc)
	}
	p.End()
	if pc.Quantity == 0 {
		p.Fail(len(x.Sentence.Text), "how many of "+sentence.Quote(pc.Name)+" to cut is not said", "add ; cut 1, ; cut 2, a pair, or ; cut 1 on the fold")
	}
	pc.checkFold(p)
	e.Pieces = append(e.Pieces, pc)
}

// sideLength reads a length and the word that may stand behind it.
func sideLength(p *tree.Parser, word string) float64 {
	at := p.At
	v := tree.Now(p, p.Sum())
	p.Take(word)
	if v <= 0 {
		p.FailUnfit(at, "a side of "+sentence.FormatNumber(v), "a side is more than 0")
	}
	return v
}

// rectangle makes a piece of which only the sides are told.
func (e *Garment) rectangle(pc *Piece, w, h float64, p *tree.Parser, names [4]string) {
	c := [4]orb.Point{{0, 0}, {w, 0}, {w, h}, {0, h}}
	for i, n := range names {
		pc.Edges = append(pc.Edges, curve.Edge{Name: n, Curve: curve.Curve{curve.LineSeg(c[i], c[(i+1)%4])}, Line: p.Sentence.Lines[0], Column: p.Sentence.Columns[0]})
	}
	pc.Worn = pc.Edges
}

func (e *Garment) fromDrawing(pc *Piece, p *tree.Parser) {
	p.Space()
	at := p.At
	n, ok := p.Name(e.DrawingOrder)
	if !ok {
		mend := sentence.Nearest(sentence.FirstWords(p.Phrase(), 2), append(append([]string{"rectangle", "strip", "facing", "rough block of"}, circleWords...), e.DrawingOrder...))
		if !p.Done() && unicode.IsDigit(p.RuneAt(p.At)) {
			mend = "say rectangle first: rectangle " + sentence.FirstWords(p.Phrase(), 3)
		}
		if clauseAhead(p) {
			mend = "say first of which drawing it is cut, then a semicolon and how many"
		}
		p.Fail(at, sentence.Quote(p.Phrase())+" is no drawing of this draft", mend)
	}
	d := e.Drawings[n]
	if !d.Drawn() {
		p.Fail(at, "the drawing "+sentence.Quote(n)+" has no outline, so it makes no piece", "add outline: and its edges in order")
	}
	if d.PrincessEntry.Sentence != nil {
		d = ofPanel(p, pc, d)
	}
	pc.Drawing, pc.Scope = d, d.Scope
	if pc.Form = darts.FormOf(d); pc.Form == nil {
		panic(sentence.Blocked{})
	}
	pc.Worn, pc.Edges = pc.Form.Worn, pc.Form.Edges
	if p.Sign(',') && !clauseAhead(p) {
		p.Want("as worn", "")
		return
	}
	o := pleats.OpenedOf(d)
	if p.Scope.Context.Blocked() {
		panic(sentence.Blocked{})
	}
	if o != nil {
		pc.Open, pc.Edges = o, o.Edges
		pc.Marks = append(pc.Marks, o.Lines...)
		pc.Drills = append(pc.Drills, o.Tacks...)
	}
}

// ofPanel reads ", centre to princess": the part of a divided drawing in which that edge lies.
func ofPanel(p *tree.Parser, pc *Piece, d *drafting.Drawing) *drafting.Drawing {
	if !p.Sign(',') {
		p.Fail(p.At, sentence.Quote(d.Name)+" is divided by a princess seam, and which part is meant is not said", "say "+d.Name+", and an edge of the part, then to princess")
	}
	first := p.Take("princess to")
	p.Space()
	at := p.At
	name := d.EdgeNamed(p)
	if !first {
		p.Want("to princess", " behind an edge of the part")
	}
	var found []*panels.Panel
	ps := panels.Divide(d)
	if ps == nil {
		panic(sentence.Blocked{})
	}
	for k := range ps {
		for _, ed := range ps[k].Drawing.Edges {
			if ed.Name == name {
				found = append(found, &ps[k])
			}
		}
	}
	if len(found) != 1 {
		p.Fail(at, "the princess seam divides the edge "+sentence.Quote(name), "name an edge that lies in one part only")
	}
	pc.Panel = found[0]
	return found[0].Drawing
}

// checkFold holds the number to cut against the drawing: a half is cut on the fold, and what is cut
// on the fold is a half.
func (pc *Piece) checkFold(p *tree.Parser) {
	fold := false
	for _, ed := range pc.Edges {
		fold = fold || ed.Fold
	}
	switch {
	case fold && !pc.OnFold:
		p.Fail(0, fmt.Sprintf("the drawing of %q has an edge on the fold, and the piece is not cut on the fold", pc.Name), "say cut 1 on the fold, or take on the fold out of the outline")
	case pc.OnFold && !fold:
		p.Fail(0, fmt.Sprintf("%q is cut on the fold, and no edge of its drawing lies on it", pc.Name), "say on the fold behind the edge in the outline")
	}
}
