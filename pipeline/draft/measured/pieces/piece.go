// Package pieces makes what is cut: from a drawing, a circle, a strip, a rough block or a facing, with how
// many, allowances, notches and marks. It takes a draft that is worked out and gives a Garment, which also
// answers what numbers ask of pieces. Lengths are in the draft's unit unless mm are said.
package pieces

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"

	"github.com/paulmach/orb"

	"tracewheel/geom"
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
	// What its sentence says.
	Name     string
	Sentence *sentence.Sentence
	Parser   *tree.Parser
	Scope    *tree.Scope // of its drawing, or the draft's
	Quantity int
	Pair     bool
	Alike    bool // all of one hand
	OnFold   bool
	Twice    bool // on two folds, so that its quarter is drawn
	plain    bool // a strip or a rectangle
	strip    bool // long and narrow, with the grain along its length where nothing is said
	Material string
	Grain    string   // plumb, level, bias
	Unsaid   bool     // the grain is what the trade's habit makes it
	Included bool     // the outline is the cut line
	Pointed  []string // edges that are meant to make a point where they meet the fold
	Note     string
	underlap tree.Number       // of a strip or rectangle, nil for none
	names    []string          // of the edges that it may have
	from     *drafting.Drawing // whose edges they are, nil for a circle and the like
	shape    func()            // makes its edges
	// What is made of it.
	made    bool
	Drawing *drafting.Drawing // nil for a rectangle or a strip
	Edges   []curve.Edge      // as cut, pleats opened
	Worn    []curve.Edge      // as sewn up
	Open    *pleats.Opened
	Panel   *panels.Panel // of a drawing that a princess seam divides
	Form    *darts.Formed // of a drawing: its darts where they are sewn
	Widths  []*edgeWidth
	Notches []Notch
	Marks   []pleats.InnerLine
	Drills  []orb.Point
	Texts   []pattern.Label
	Slits   []*Slit // that sentences mark
	// Underlap is by how much a band is longer than what it is sewn to, at its end.
	Underlap float64
}

// Garment is a draft with the pieces that are made of its drawings.
type Garment struct {
	*drafting.Draft
	Pieces    []*Piece
	Corners   []pattern.Corner
	gone      []string // pieces that cannot be read
	edgeNames []string // see EdgeNames
	steps     []func() // what is worked out of the sections, in order
	// shapeless tells that a drawing or its shape cannot be read, so that no piece is made.
	shapeless bool

	// CutArmholes says of the widths asked for since it was emptied which of them lie above the underarm.
	CutArmholes []string
}

// NewGarment is a draft's garment before its pieces are made; the draft's numbers may ask for them.
func NewGarment(e *drafting.Draft) *Garment {
	g := &Garment{Draft: e}
	e.OfPieces = g
	return g
}

// Read reads what shapes the drawings, and the sections of pieces: every slip of the pen is told at once.
func (e *Garment) Read() {
	shapes := func(which func(d *drafting.Drawing) bool) {
		for _, n := range e.DrawingOrder {
			if d := e.Drawings[n]; which(d) {
				d.Scope.Read()
				darts.Read(d)
				pleats.Read(d)
				panels.Read(d)
			}
		}
	}
	shapes(func(d *drafting.Drawing) bool { return !d.Lent })
	e.shapeless = len(e.Faults) > 0
	e.readPieces()
	told := len(e.Faults)
	shapes(func(d *drafting.Drawing) bool { return d.Lent && d.Wanted })
	e.shapeless = e.shapeless || len(e.Faults) > told
	e.readAllowances()
	e.readNotches()
	e.readMarks()
}

// Make makes the pieces that could be read, of the drawings, which are worked out.
func (e *Garment) Make() {
	if !e.shapeless {
		e.Run(e.steps)
	}
}

// then keeps what is worked out for a piece once that is made.
func (e *Garment) then(pc *Piece, work func()) {
	e.steps = append(e.steps, func() {
		if pc.made {
			work()
		}
	})
}

func (e *Garment) readPieces() {
	en, ok := e.Sections["pieces"]
	if !ok {
		e.Faults = append(e.Faults, sentence.Fault{File: e.Document.Name, Line: 1, Column: 1, Text: "the draft names no pieces", Mend: "add pieces: and a line for each"})
		return
	}
	for _, x := range e.Entries(en.Node) {
		if x.Sentence == nil {
			e.AddFault(x.KeyNode, "the piece "+sentence.Quote(x.Key)+" wants a sentence", "say which drawing it is, and how many to cut")
			e.gone = append(e.gone, x.Key)
			continue
		}
		pc := &Piece{Name: x.Key, Sentence: x.Sentence, Parser: tree.NewParser(x.Sentence, e.Top), Scope: e.Top, Grain: "plumb", Unsaid: true}
		if !e.Try(func() { e.readPiece(pc) }) {
			e.gone = append(e.gone, x.Key)
			continue
		}
		e.Pieces, e.edgeNames = append(e.Pieces, pc), nil
		e.steps = append(e.steps, pc.make)
	}
}

func (e *Garment) readPiece(pc *Piece) {
	p := pc.Parser
	p.Space()
	begin := p.At
	drawn, _ := p.Name(e.DrawingOrder)
	p.At = begin
	var angle tree.Number
	if len(drawn) < len("full circle") { // a drawing of that name comes first
		angle = circleAngle(p)
	}
	switch {
	case angle != nil:
		e.circlePiece(pc, angle, begin)
	case p.Take("rectangle"):
		at := p.At
		w := sideLength(p, "wide")
		said := p.Said(at)
		p.Take("by")
		p.Sign(',')
		if p.Done() || p.RuneAt(p.At) == ';' {
			p.Fail(p.At, "the other side of the rectangle is not said", "say rectangle "+said+" by, and the other side")
		}
		pc.strip = slices.ContainsFunc(strings.Fields(pc.Name), func(w string) bool { return slices.Contains(bandWords, w) })
		pc.rectangle(w, sideLength(p, "high"), "top", "side", "bottom", "far side")
	case p.Take("strip"):
		w := sideLength(p, "wide")
		p.Take("by")
		p.Sign(',')
		pc.strip = true
		pc.rectangle(sideLength(p, "long"), w, "long edge", "end", "far edge", "far end")
	case len(drawn) < len("rough block of") && p.Take("rough block of"):
		e.roughBlock(pc)
	case p.Take("facing"):
		e.facing(pc)
	default:
		e.fromDrawing(pc)
	}
	for nextClause(p) {
		readClause(p, pc)
	}
	if pc.Unsaid && pc.strip {
		pc.Grain = "level"
	}
	p.End()
	if pc.Quantity == 0 {
		p.Fail(len(p.Sentence.Text), "how many of "+sentence.Quote(pc.Name)+" to cut is not said", "add ; cut 1, ; cut 2, a pair, or ; cut 1 on the fold")
	}
	if pc.from != nil && !pc.from.Readable() {
		p.GiveUp() // not all its edges are known
	}
}

// make works the piece's edges out, with the notches that no sentence tells.
func (pc *Piece) make() {
	e := pc.Scope.Context
	if pc.shape(); e.Blocked() {
		return
	}
	pc.checkFold()
	pc.pleatNotches()
	if pc.Panel != nil {
		setPanelNotches(*pc.Panel, pc)
	}
	pc.made = !e.Blocked()
}

// bandWords are in the names of pieces that are cut with the grain along their length (common practice: the warp
// stretches least), if they are told wider than high.
var bandWords = []string{"waistband", "band", "belt", "cuff", "tie", "strap", "sash", "binding"}

// sideLength reads a length and the word that may stand behind it.
func sideLength(p *tree.Parser, word string) tree.Number {
	v := p.SumWhere(tree.MoreThan0, "a side of %s", "a side is more than 0")
	p.Take(word)
	return v
}

// rectangle makes a piece of which only the sides are told.
func (pc *Piece) rectangle(w, h tree.Number, names ...string) {
	pc.names, pc.plain = names, true
	pc.shape = func() {
		long, high := w(), h()
		if pc.underlap != nil {
			pc.Underlap = pc.underlap()
			pc.Marks = append(pc.Marks, pleats.InnerLine{From: orb.Point{long, 0}, To: orb.Point{long, high}, Name: "underlap"})
		}
		if pc.Unsaid && pc.strip && high > long+pc.Underlap {
			pc.Grain = "plumb" // its length stands
		}
		pc.setRectangle(orb.Bound{Max: orb.Point{long + pc.Underlap, high}}, false)
	}
}

// setRectangle makes the edges of a piece that is one; the last may lie on the fold.
func (pc *Piece) setRectangle(b orb.Bound, fold bool) {
	c := [4]orb.Point{b.Min, {b.Max[0], b.Min[1]}, b.Max, {b.Min[0], b.Max[1]}}
	for i, n := range pc.names {
		pc.addEdge(n, curve.Curve{curve.LineSeg(c[i], c[(i+1)%4])}, fold && i == 3)
	}
}

// addEdge gives a piece that is not drawn its next edge.
func (pc *Piece) addEdge(name string, c curve.Curve, fold bool) {
	pc.Edges = append(pc.Edges, curve.Edge{Name: name, Curve: c, Fold: fold, Line: pc.Sentence.Line, Column: pc.Sentence.Column})
	pc.Worn = pc.Edges
}

func (e *Garment) fromDrawing(pc *Piece) {
	p := pc.Parser
	p.Space()
	at := p.At
	n, ok := p.Name(e.DrawingOrder)
	if !ok {
		mend := e.Nearest(sentence.FirstWords(p.Phrase(), 2), append(append([]string{"rectangle", "strip", "facing", "rough block of"}, circleWords...), e.DrawingOrder...))
		if !p.Done() && unicode.IsDigit(p.RuneAt(p.At)) {
			mend = "say rectangle first: rectangle " + sentence.FirstWords(p.Phrase(), 3)
		}
		if clauseAhead(p) {
			mend = "say first of which drawing it is cut, then a semicolon and how many"
		}
		p.Fail(at, sentence.Quote(p.Phrase())+" is no drawing of this draft", mend)
	}
	d := e.Drawings[n]
	d.Wanted = true
	if d.Outline == nil {
		p.Fail(at, "the drawing "+sentence.Quote(n)+" has no outline, so it makes no piece", "add outline: and its edges in order")
	}
	part := func() *drafting.Drawing { return d }
	pc.Drawing, pc.from, pc.Scope, pc.names = d, d, d.Scope, d.EdgeNames()
	switch folded := panels.IsFolded(d); {
	case folded:
		part = pc.ofFolded(d)
	case d.PrincessEntry.Sentence != nil:
		part = pc.ofPanel(d)
		pc.names = append(pc.names, "princess")
	}
	open := true
	if p.Sign(',') && !clauseAhead(p) {
		p.Want("as worn", "")
		open = false
	}
	pc.shape = func() {
		if d := part(); d != nil {
			pc.setDrawn(d, open)
		}
	}
}

// MadeOf names the drawing of which a piece is made, with the word facing behind it of a facing; "" of a strip and the like.
func (pc *Piece) MadeOf() string {
	switch {
	case pc.from == nil:
		return ""
	case pc.Drawing == nil:
		return pc.from.Name + " facing"
	}
	return pc.from.Name
}

// setDrawn makes the piece of a drawing, with its pleats opened or as worn.
func (pc *Piece) setDrawn(d *drafting.Drawing, open bool) {
	pc.Drawing = d
	if pc.Form = darts.FormOf(d); pc.Form == nil {
		return
	}
	pc.Worn, pc.Edges = pc.Form.Worn, pc.Form.Edges
	if !open {
		return
	}
	defer pc.markExtended(d)
	if o := pleats.OpenedOf(d); o != nil {
		pc.Open, pc.Edges = o, o.Edges
		if o.DrawnFlat() {
			pc.Worn = o.Worn
		}
		pc.Marks = append(pc.Marks, o.Lines...)
		pc.Drills = append(pc.Drills, o.Tacks...)
	}
}

// ofPanel reads ", centre to princess": the part of a divided drawing in which that edge lies.
func (pc *Piece) ofPanel(d *drafting.Drawing) func() *drafting.Drawing {
	p := pc.Parser
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
	return func() *drafting.Drawing {
		ps := panels.Divide(d)
		if ps == nil {
			return nil
		}
		var found []*panels.Panel
		for k := range ps {
			if curve.IndexOf(ps[k].Drawing.Edges, name) >= 0 {
				found = append(found, &ps[k])
			}
		}
		if len(found) != 1 {
			p.Refuse(at, "the princess seam divides the edge "+sentence.Quote(name), "name an edge that lies in one part only")
			return nil
		}
		pc.Panel = found[0]
		return found[0].Drawing
	}
}

// ofFolded is the whole drawing whose princess line is folded; panels of it are refused.
func (pc *Piece) ofFolded(d *drafting.Drawing) func() *drafting.Drawing {
	p := pc.Parser
	begin := p.At
	if p.Sign(',') && strings.Contains(p.Phrase(), "princess") {
		p.Fail(begin+1, "the princess line of "+sentence.Quote(d.Name)+" is folded, so that it has no panels", "cut the whole: "+d.Name+"; or take folded out of the princess sentence")
	}
	p.At = begin
	return func() *drafting.Drawing { return panels.Folded(d) }
}

// checkFold holds the number to cut against the drawing: a half is cut on the fold, a quarter on two that are square
// to one another, and what is cut on the fold is a half.
func (pc *Piece) checkFold() {
	var on []orb.Point // which way each fold runs
	for _, ed := range pc.Edges {
		if ed.Fold {
			on = append(on, ed.Curve[0].Dir(0))
		}
	}
	refuse := func(text, mend string) { pc.Parser.Refuse(0, text, mend) }
	name := sentence.Quote(pc.Name)
	switch {
	case len(on) > 0 && !pc.OnFold:
		refuse("the drawing of "+name+" has an edge on the fold, and the piece is not cut on the fold", "say cut 1 on the fold, or take on the fold out of the outline")
	case pc.OnFold && len(on) == 0:
		refuse(name+" is cut on the fold, and no edge of its drawing lies on it", "say on the fold behind the edge in the outline")
	case pc.Twice && len(on) != 2:
		refuse(fmt.Sprintf("%s is cut on two folds, and its drawing has %s on a fold", name, pattern.Count(len(on), "edge")), "draw its quarter, with two edges on the fold square to one another; or draw the half, and say cut 1 on the fold")
	case pc.Twice && math.Abs(geom.Dot(on[0], on[1])) > square:
		refuse("the two folds of "+name+" are not square to one another", "cloth folded twice has its folds square; draw both edges so")
	case pc.Twice && (pc.Open != nil || pc.Form != nil && len(pc.Form.Darts)+len(pc.Form.Inside) > 0):
		refuse(name+" is cut on two folds, and has pleats or darts", "draw its half, and cut it on the fold")
	case pc.OnFold && !pc.Twice && len(on) > 1 && math.Abs(geom.Cross(on[0], on[1])) > square:
		refuse("two edges of "+name+" lie on folds that cross, and it is cut on one", "say cut 1 on two folds; or take on the fold out of the outline behind one edge")
	}
}

// square is the cosine of the angle by which two folds may fail to be square: 0.06 degrees, half a millimetre in 50 cm.
const square = 1e-3
