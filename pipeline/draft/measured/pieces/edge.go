package pieces

import (
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// Edge finds an edge by name, -1 where there is none.
func (pc *Piece) Edge(name string) int { return curve.IndexOf(pc.Edges, name) }

// EdgeNames lists the names of a piece's edges, in their order.
func (pc *Piece) EdgeNames() []string {
	var out []string
	for _, ed := range pc.Edges {
		out = append(out, ed.Name)
	}
	return out
}

// isGone tells whether a phrase is about a piece that was refused, of which no more need be said.
func (e *Garment) isGone(phrase string) bool {
	for _, n := range e.gone {
		if phrase == n || strings.HasPrefix(phrase, n+" ") {
			return true
		}
	}
	return false
}

// nearPiece keeps the names that begin with the piece a phrase begins with, if it begins with one.
func (e *Garment) nearPiece(phrase string, names []string) []string {
	var out []string
	for _, pc := range e.Pieces {
		if strings.HasPrefix(phrase, pc.Name+" ") {
			for _, n := range pc.EdgeNames() {
				out = append(out, pc.Name+" "+n)
			}
		}
	}
	if out == nil {
		return names
	}
	return out
}

// EdgeNames lists all edges, each with its piece's name before it.
func (e *Garment) EdgeNames() []string {
	var names []string
	for _, pc := range e.Pieces {
		for _, ed := range pc.Edges {
			names = append(names, pc.Name+" "+ed.Name)
		}
	}
	return names
}

// PieceEdge reads "front shoulder": a piece's name and one of its edges.
func (e *Garment) PieceEdge(p *tree.Parser) (*Piece, int) {
	p.Space()
	at := p.At
	names := e.EdgeNames()
	n, ok := p.Name(names)
	if !ok {
		if e.isGone(p.Phrase()) {
			panic(sentence.Blocked{})
		}
		p.Fail(at, sentence.Quote(p.Phrase())+" is no edge of a piece", sentence.Nearest(p.Phrase(), e.nearPiece(p.Phrase(), names)))
	}
	for _, pc := range e.Pieces {
		if rest, ok := strings.CutPrefix(n, pc.Name+" "); ok {
			if i := pc.Edge(rest); i >= 0 {
				return pc, i
			}
		}
	}
	return nil, -1
}

// EdgeLength reads the name of a piece and of one of its edges, and gives its length as worn.
func (e *Garment) EdgeLength(p *tree.Parser) tree.Number {
	pc, i := e.PieceEdge(p)
	return func() float64 { return pc.WornLength(i) }
}

// Flat brings a point of the drawing as worn onto the piece as cut.
func (pc *Piece) Flat(q orb.Point) orb.Point { return pc.opened(pc.Carry(q)) }

// opened brings a point of the shaped drawing, pleats closed, onto the piece as cut.
func (pc *Piece) opened(q orb.Point) orb.Point { return pc.Open.Flat(q) }

// Carry brings a point of the drawing to where it lies once darts are moved; pleats are still closed.
func (pc *Piece) Carry(q orb.Point) orb.Point {
	if pc.Form == nil {
		return q
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
	if pc.Form == nil {
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
