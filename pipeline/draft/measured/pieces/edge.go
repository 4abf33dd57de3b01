package pieces

import (
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// Edge finds an edge by name, -1 where there is none.
func (pc *Piece) Edge(name string) int { return curve.IndexOf(pc.Edges, name) }

// EdgeNames lists the names that a piece's edges may have.
func (pc *Piece) EdgeNames() []string { return pc.names }

// isGone tells whether a phrase is about a piece that was refused, of which no more need be said.
func (e *Garment) isGone(phrase string) bool {
	return slices.ContainsFunc(e.gone, func(n string) bool { return phrase == n || strings.HasPrefix(phrase, n+" ") })
}

// nearPiece keeps the names that begin with the piece a phrase begins with, if it begins with one.
func (e *Garment) nearPiece(phrase string, names []string) []string {
	var out []string
	for _, pc := range e.Pieces {
		if strings.HasPrefix(phrase, pc.Name+" ") {
			out = append(out, pc.qualified()...)
		}
	}
	if out == nil {
		return names
	}
	return out
}

// qualified lists the edges that a piece may have, and once it is made those that it has, each with its name before it.
func (pc *Piece) qualified() []string {
	var out []string
	for _, n := range pc.names {
		if !pc.made || pc.Edge(n) >= 0 {
			out = append(out, pc.Name+" "+n)
		}
	}
	return out
}

// EdgeNames lists all edges, each with its piece's name before it.
func (e *Garment) EdgeNames() []string {
	if e.edgeNames == nil {
		for _, pc := range e.Pieces {
			e.edgeNames = append(e.edgeNames, pc.qualified()...)
		}
	}
	return e.edgeNames
}

// EdgeOf is an edge of a piece as a sentence names it.
type EdgeOf struct {
	Piece *Piece
	name  string
	p     *tree.Parser
	at    int
	e     *Garment
}

// PieceEdge reads "front shoulder": a piece's name and one of its edges.
func (e *Garment) PieceEdge(p *tree.Parser) EdgeOf {
	p.Space()
	at := p.At
	n, ok := p.Name(e.EdgeNames())
	if !ok {
		if e.isGone(p.Phrase()) {
			p.GiveUp()
		}
		p.Fail(at, e.noEdge(p.Phrase()), e.nearestEdge(p.Phrase()))
	}
	for _, pc := range e.Pieces {
		if rest, ok := strings.CutPrefix(n, pc.Name+" "); ok && slices.Contains(pc.names, rest) {
			return EdgeOf{pc, rest, p, at, e}
		}
	}
	return EdgeOf{}
}

// Drawn is the drawing's edge that it is, the drawing nil for an edge of what is not drawn.
func (o EdgeOf) Drawn() drafting.SeamEdge {
	return drafting.SeamEdge{Drawing: o.Piece.from, Edge: o.name, Piece: o.Piece.Name}
}

func (e *Garment) noEdge(phrase string) string {
	return sentence.Quote(phrase) + " is no edge of a piece"
}

func (e *Garment) nearestEdge(phrase string) string {
	for _, pc := range e.Pieces {
		if rest, ok := strings.CutPrefix(phrase, pc.Name+" "); ok && pc.from != nil {
			if mend := pc.from.LeftOut(rest); mend != "" {
				return mend
			}
		}
	}
	var parts []string // of a drawing that is divided, of which no piece has the name
	for _, pc := range e.Pieces {
		if pc.from == nil || pc.Drawing == nil { // no drawing, or a facing of one
			continue
		}
		if rest, ok := strings.CutPrefix(phrase, pc.from.Name+" "); ok && pc.Name != pc.from.Name && slices.Contains(pc.names, rest) && (!pc.made || pc.Edge(rest) >= 0) {
			parts = append(parts, sentence.Quote(pc.Name+" "+rest))
		}
	}
	if len(parts) > 0 {
		return "say of which of its pieces: " + strings.Join(parts, " or ")
	}
	return e.Nearest(phrase, e.nearPiece(phrase, e.EdgeNames()))
}

// Index is the edge's place among those of its piece; -1 where it is refused: the piece may have no such edge, but
// the drawing that is divided.
func (o EdgeOf) Index() int {
	if !o.Piece.made {
		o.e.Block()
		return -1
	}
	i := o.Piece.Edge(o.name)
	if i < 0 {
		phrase := o.Piece.Name + " " + o.name
		o.p.Refuse(o.at, o.e.noEdge(phrase), o.e.nearestEdge(phrase))
	}
	return i
}

// EdgeLength reads the name of a piece and of one of its edges, and gives its length as worn.
func (e *Garment) EdgeLength(p *tree.Parser) tree.Number {
	if len(e.Pieces) == 0 {
		p.Fail(p.At, "how long an edge of a piece is sewn is not known here, before the pieces are", "say it under pieces, ease or sewn; a number or a drawing knows length of an edge as it is drawn: take off what its darts take")
	}
	o := e.PieceEdge(p)
	return func() float64 {
		if i := o.Index(); i >= 0 {
			return o.Piece.WornLength(i)
		}
		return 0
	}
}

// Flat brings a point of the drawing as worn onto the piece as cut.
func (pc *Piece) Flat(q orb.Point) orb.Point {
	if pc.Open.DrawnFlat() {
		return q
	}
	return pc.opened(pc.Carry(q))
}

// opened brings a point of the shaped drawing, pleats closed, onto the piece as cut.
func (pc *Piece) opened(q orb.Point) orb.Point { return pc.Open.Flat(q) }

// Carry brings a point of the drawing to where it lies once darts are moved; pleats are still closed.
func (pc *Piece) Carry(q orb.Point) orb.Point {
	if pc.Form == nil {
		return q
	}
	if pc.Open.DrawnFlat() {
		return pc.Open.Closed(q)
	}
	return pc.Form.Carry(q)
}

// Place is where on the cut piece an edge as worn has run l from its start.
func (pc *Piece) Place(i int, l float64) orb.Point {
	at, _ := pc.Worn[i].Curve.At(l)
	return pc.Open.Place(i, at)
}

// Sewn is an edge as it is sewn, in one line: each stretch is turned to the one before, where a dart or
// gathers lie between. The mouth of a dart, where it is an edge of its own, is nothing.
func (pc *Piece) Sewn(i int) curve.Curve {
	if pc.Form == nil || pc.Open.DrawnFlat() { // one that is drawn flat has no dart
		return pc.Worn[i].Curve
	}
	if mouthEdge(pc.Form, i) {
		return nil
	}
	line, _ := closeUp(stretches(pc.Form, i))
	return line
}

// WornLength is how long an edge is as it is sewn.
func (pc *Piece) WornLength(i int) float64 {
	if pc.Form != nil && mouthEdge(pc.Form, i) {
		return 0
	}
	return pc.Worn[i].Curve.Length()
}

// UnderlapOf is how much of an edge, at its start and at its end, is the underlap of a strip or a rectangle that has one: at
// the end of the edges that run along it.
func (pc *Piece) UnderlapOf(i int) (free [2]float64) {
	if pc.Underlap > 0 && i%2 == 0 { // top, bottom, and what a strip has instead
		free[1-i/2] = pc.Underlap
	}
	return free
}
