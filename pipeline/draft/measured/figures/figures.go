// Package figures writes what was drawn: the list to check with a tape and chalk from, as text, page or
// JSON, in the draft's unit; and the pattern that travels on, in mm, y up. It takes what the room sewn
// gives and changes nothing in it.
package figures

import (
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/sewn"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/pattern"
)

// Figures is what a person checks with a tape and chalks from: all lengths in the draft's unit.
type Figures struct {
	Style   string         `json:"style"`
	Body    string         `json:"body"`
	Fitted  string         `json:"fitted,omitempty"` // dates of the fittings that went into the measures
	Unit    string         `json:"unit"`
	Numbers []NamedNumber  `json:"numbers"`
	Pieces  []PieceFigures `json:"pieces"`
	Girths  []Girth        `json:"girths"`
	Seams   []SeamFigures  `json:"seams"`
	Notions []Notion       `json:"notions"`
	Truings []Truing       `json:"truings"`
}

// NamedNumber is a derived number.
type NamedNumber struct {
	Name  string  `json:"name"`
	Value float64 `json:"value"`
}

// PieceFigures are a piece's edges and its marking-out list.
type PieceFigures struct {
	Name     string        `json:"name"`
	Quantity int           `json:"quantity"`
	Pair     bool          `json:"pair"`  // half of them mirrored, said or meant
	Alike    bool          `json:"alike"` // said to be of one hand
	Material string        `json:"material"`
	Area     float64       `json:"area"` // as cut, net, in the unit squared
	Edges    []EdgeFigures `json:"edges"`
	Marking  MarkingOut    `json:"marking_out"`
}

// EdgeFigures is an edge's length as worn and as cut.
type EdgeFigures struct {
	Name string  `json:"name"`
	Worn float64 `json:"worn"`
	Cut  float64 `json:"cut"`
	// Allowance is what is added to it, as written for the tape; "" where the outline is the cut line.
	Allowance string `json:"allowance"`
	Fold      bool   `json:"fold"`
}

// Girth is a promise and what came of it.
type Girth struct {
	Name     string  `json:"name"`
	Finished float64 `json:"finished"`
	Body     float64 `json:"body"`
	Ease     float64 `json:"ease"`
	Promise  string  `json:"promise"`
	Kept     bool    `json:"kept"`
}

// SeamFigures is a seam as walked.
type SeamFigures struct {
	Seam string  `json:"seam"`
	A    float64 `json:"a"`
	B    float64 `json:"b"`
	Ease float64 `json:"ease"`
	// Gathers are how much longer the first side is, 2 where it is gathered 2 to 1; left out of a seam without.
	Gathers float64 `json:"gathers,omitempty"`
}

// Truing is by how much edges were bent so that they run on across a seam or a closed dart: how far the
// legs of the two sides were carried on to be equal, and by how many degrees each edge was turned.
type Truing struct {
	At      string     `json:"at"`
	Carried [2]float64 `json:"carried"` // a princess seam's centre panel first
	Turned  float64    `json:"turned_deg"`
}

// Notion is what is bought beside the cloth: so many, each of a length; 0 where no length is told.
type Notion struct {
	Name   string  `json:"name"`
	Count  int     `json:"count"`
	Each   float64 `json:"each"`
	Length string  `json:"length"` // in all, as the tape is read
}

// Of lists the figures of a draft that was drawn.
func Of(e *sewn.Sewing) *Figures {
	f := Brief(e)
	for i, pc := range e.Pieces {
		f.Pieces[i].Marking = marking(pc)
	}
	return f
}

// Brief lists the figures without what each piece is chalked from, which takes most of the time.
func Brief(e *sewn.Sewing) *Figures {
	f := &Figures{Body: e.Body, Fitted: e.Fittings(), Unit: e.Unit}
	if en, ok := e.Sections["style"]; ok {
		f.Style = e.Text(en)
	}
	listed := map[*sentence.Sentence]bool{}
	for _, n := range e.Top.Order {
		if d := e.Top.Definitions[n]; d.Kind == tree.NumberKind && !listed[d.Sentence] { // a measure has a second name
			listed[d.Sentence] = true
			f.Numbers = append(f.Numbers, NamedNumber{n, d.Number})
		}
	}
	for _, pc := range e.Pieces {
		listed := pieceFigures(pc)
		drawn := onePiece(e, pc)
		if ring, _, ok := drawn.Ring(); ok {
			listed.Pair = drawn.Hands(ring) != pattern.OneHand
		}
		f.Pieces = append(f.Pieces, listed)
	}
	for _, g := range e.Girths {
		f.Girths = append(f.Girths, Girth{g.Name, g.Finished, g.Body, g.Finished - g.Body, g.Promise, g.Kept})
	}
	for _, p := range e.Pairs {
		s := SeamFigures{Seam: p.Words, A: p.LengthA, B: p.LengthB, Ease: p.Ease}
		if p.Gathered {
			s.Gathers = p.LengthA / p.LengthB
		}
		f.Seams = append(f.Seams, s)
	}
	for _, t := range e.Truings {
		f.Truings = append(f.Truings, Truing{t.At, t.Carried, t.Turned})
	}
	for _, n := range e.Notions {
		f.Notions = append(f.Notions, Notion{n.Name, n.Count, n.Each, tape(e.Context, float64(n.Count)*n.Each)})
	}
	return f
}

// pieceFigures lists a piece.
func pieceFigures(pc *pieces.Piece) PieceFigures {
	e := pc.Scope.Context
	out := PieceFigures{Name: pc.Name, Quantity: pc.Quantity, Pair: pc.Pair, Alike: pc.Alike, Material: pc.Material, Area: curve.Area(pc.Edges)}
	for i, ed := range pc.Edges {
		f := EdgeFigures{Name: ed.Name, Worn: pc.WornLength(i), Cut: ed.Curve.Length(), Fold: ed.Fold}
		if !pc.Included && !ed.Fold && pc.Widths[i] != nil {
			f.Allowance = tape(e, pc.Widths[i].From)
			if to := tape(e, pc.Widths[i].To); to != f.Allowance {
				f.Allowance += " to " + to
			}
		}
		out.Edges = append(out.Edges, f)
	}
	return out
}
