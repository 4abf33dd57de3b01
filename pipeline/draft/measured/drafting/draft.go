// Package drafting works a draft out for one body: it takes the document and a body's measures and gives
// numbers, points, edges and the closed outline of each drawing. Darts, pleats and seams of drawings are
// only kept here, as entries for the rooms above. Lengths are in the draft's unit.
package drafting

import (
	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// Draft draws one draft for one body.
type Draft struct {
	*tree.Context
	Drawings      map[string]*Drawing
	DrawingOrder  []string
	Body          string
	kind          string // of wearer: woman, man, child or nobody says
	AskedBody     string // the body's name before a card told its wearer's
	Measures      []measure
	unlikely      []sentence.Fault // measures that are, should the drawing fail
	cardAt        *yaml.Node       // where the draft names its card
	Sections      map[string]sentence.Entry
	Toile         bool    // the garment's toile is drawn
	OneSided      bool    // the wearer's sides differ, by a measure or a fitting of one of them
	left          bool    // the left side is drawn
	SeamTolerance float64 // what is let pass between the sides of a seam that says nothing, in mm
	changes       []change
	alterations   []*alteration // of seams, by date
	bodies        map[string]toldBody
	supposed      map[string]*tree.Definition // measures that are taken as given, see Suppose
}

// NewDraft is a draft of which nothing is read yet but the document.
func NewDraft(doc *sentence.Document) *Draft {
	e := &Draft{Context: tree.NewContext(doc), Drawings: map[string]*Drawing{}, bodies: map[string]toldBody{}}
	e.Keep = func() func() {
		kept := map[string]Drawing{}
		for n, d := range e.Drawings {
			kept[n] = *d
		}
		return func() {
			for n, d := range kept {
				*e.Drawings[n] = d
			}
		}
	}
	return e
}

// measure is one of a body's, in the draft's unit, with its place in the file.
type measure struct {
	name     string
	value    float64
	Sentence *sentence.Sentence
	unit     string // in which it was taken
	side     string // of the wearer, whose measure stands in the place of the one of both; "" for none
}

// TakenIn is the unit in which the body was measured, by which a person reads what comes of it: inches where the measures
// are, centimetres where they are metric and the draft is not; else the draft's.
func (e *Draft) TakenIn() string {
	if len(e.Measures) == 0 {
		return e.Unit
	}
	if taken := e.Measures[0].unit; (taken == "in") != (e.Unit == "in") {
		return taken
	}
	return e.Unit
}

// change is what a fitting altered for one wearer, kept on the card so that the style stays clean:
// "let out: 0.6 more" of a measure or of one of the draft's numbers.
type change struct {
	date string
	only string // the garment to which it belongs, "" for all
	name string
	by   float64
	s    *sentence.Sentence // the name, for a fault's place
}
