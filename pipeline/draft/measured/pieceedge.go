package measured

import (
	"math"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// edge finds an edge by name, -1 where there is none.
func (pc *piece) edge(name string) int { return indexOf(pc.edges, name) }

func (pc *piece) edgeNames() []string {
	var out []string
	for _, ed := range pc.edges {
		out = append(out, ed.name)
	}
	return out
}

// isGone tells whether a phrase is about a piece that was refused, of which no more need be said.
func (e *garment) isGone(phrase string) bool {
	for _, n := range e.gone {
		if phrase == n || strings.HasPrefix(phrase, n+" ") {
			return true
		}
	}
	return false
}

// nearPiece keeps the names that begin with the piece a phrase begins with, if it begins with one.
func (e *garment) nearPiece(phrase string, names []string) []string {
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

// EdgeNames lists all edges, each with its piece's name before it.
func (e *garment) EdgeNames() []string {
	var names []string
	for _, pc := range e.pieces {
		for _, ed := range pc.edges {
			names = append(names, pc.name+" "+ed.name)
		}
	}
	return names
}

// pieceEdge reads "front shoulder": a piece's name and one of its edges.
func (e *garment) pieceEdge(p *parser) (*piece, int) {
	p.space()
	at := p.i
	names := e.EdgeNames()
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

// EdgeLength reads the name of a piece and of one of its edges, and gives its length as worn.
func (e *garment) EdgeLength(p *parser) float64 {
	pc, i := e.pieceEdge(p)
	return pc.worn[i].c.length()
}

// indexOf finds an edge by name, -1 where there is none.
func indexOf(edges []outlineEdge, name string) int {
	for i, ed := range edges {
		if ed.name == name {
			return i
		}
	}
	return -1
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
func (pc *piece) flat(q orb.Point) orb.Point { return pc.opened(pc.carry(q)) }

// opened brings a point of the shaped drawing, pleats closed, onto the piece as cut.
func (pc *piece) opened(q orb.Point) orb.Point { return pc.open.flat(q) }

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
	return pc.open.place(i, at)
}

func (e *engine) mm(q orb.Point) orb.Point { return geom.Mul(orb.Point{q[0], -q[1]}, e.unitMM) }
