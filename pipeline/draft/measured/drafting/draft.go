// Package drafting works a draft out for one body: it takes the document and a body's measures and gives
// numbers, points, edges and the closed outline of each drawing, each worked out when it is first asked
// for. Darts, pleats and seams of drawings are only kept here, as entries for the rooms above. Lengths are
// in the draft's unit. A sentence that cannot be worked out panics with sentence.Stop; Draft.Try keeps it.
package drafting

import (
	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
)

// Draft draws one draft for one body.
type Draft struct {
	Document     *sentence.Document
	Unit         string
	UnitMM       float64
	Top          *Scope
	Drawings     map[string]*Drawing
	DrawingOrder []string
	Faults       []sentence.Fault
	busy         []*Definition // being worked out, each for the one before
	begun        []*Definition // what was worked out for a number that is only supposed
	stuck        bool          // the sentence that is being worked out is refused
	trials       int           // how many of these there are, one within the other
	nameLists    map[nameKey][]string
	Body         string
	AskedBody    string // the body's name before a card told its wearer's
	Measures     []measure
	unlikely     []sentence.Fault // measures that are, should the drawing fail
	cardAt       *yaml.Node       // where the draft names its card
	Findings     []pattern.Finding
	Sections     map[string]sentence.Entry
	changes      []change
	OfPieces     ofPieces
	Truings      []Truing
}

// ofPieces measures what a number may ask of the pieces that are made of drawings. Each reads its words
// from the parser and refuses, there, what is not known; the number is worked out later.
type ofPieces interface {
	// EdgeNames lists the edges of all pieces, each with its piece's name before it.
	EdgeNames() []string
	// EdgeLength is how long an edge of a piece is as worn.
	EdgeLength(p *Parser) Number
	// Width is how wide a drawing is at a point's level; sewn, without what its darts take there.
	Width(p *Parser, sewn bool) Number
	// Radius is the radius of the seam of a circle that fits it.
	Radius(p *Parser) Number
}

// NewDraft is a draft of which nothing is read yet but the document.
func NewDraft(doc *sentence.Document) *Draft {
	e := &Draft{Document: doc, UnitMM: 1, Drawings: map[string]*Drawing{}, nameLists: map[nameKey][]string{}}
	e.Top = newScope(e, nil, "")
	return e
}

// measure is one of a body's, in the draft's unit, with its place in the file.
type measure struct {
	name     string
	value    float64
	Sentence *sentence.Sentence
	unit     string // in which it was taken
}

// Hair is how far apart, in the draft's unit, two ends may lie and still be one point: far below
// what a pen draws, far above rounding.
func (e *Draft) Hair() float64 { return 0.001 / e.UnitMM }

// caught keeps the fault of a refused sentence; what was only blocked by one is not told again.
func (e *Draft) caught(r any) {
	switch v := r.(type) {
	case sentence.Stop:
		e.Faults = append(e.Faults, v.Fault)
	case sentence.Blocked:
	default:
		panic(r)
	}
}

// refuse keeps the fault of what is being worked out, unless one is kept of it.
func (e *Draft) refuse(f sentence.Fault) {
	if !e.stuck {
		e.Faults = append(e.Faults, f)
	}
	e.stuck = true
}

// Try reads a sentence or works one out, and keeps the fault it stops with; false then.
func (e *Draft) Try(f func()) (ok bool) {
	outer := e.stuck
	e.stuck = false
	defer func() {
		if r := recover(); r != nil {
			e.caught(r)
			e.stuck = true
		}
		ok, e.stuck = !e.stuck, outer
	}()
	f()
	return
}

// AddFault keeps a fault at a place of the document.
func (e *Draft) AddFault(n *yaml.Node, text, mend string) {
	e.Faults = append(e.Faults, sentence.Fault{File: e.Document.Name, Line: n.Line, Column: n.Column, Text: text, Mend: mend})
}

// change is what a fitting altered for one wearer, kept on the card so that the style stays clean:
// "let out: 0.6 more" of a measure or of one of the draft's numbers.
type change struct {
	date string
	name string
	by   float64
	s    *sentence.Sentence // the name, for a fault's place
}

// Truing is by how much the two edges at one end of a princess seam were trued, the centre panel's first.
type Truing struct {
	At      string
	Carried [2]float64 // by how much each leg was carried on to be as long as the other
	Turned  float64    // degrees by which each edge was turned to run on across the seam
}
