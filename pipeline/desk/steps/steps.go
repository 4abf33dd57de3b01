// Package steps takes the figures of a garment and gives the chalking list step by step: what to do with chalk and
// tape, one thing at a time. It knows no page.
package steps

import (
	"html/template"
	"strings"

	"tracewheel/pipeline/draft/measured/figures"
)

// Step is one thing to do with chalk and tape.
type Step struct {
	N           int
	Piece, Head string
	Lies        string            // the place of the tape
	Spots       []figures.Spot    // chalked along it
	Rows        []figures.MarkOut // joined or marked, in order
	Note        string
	Picture     template.HTML // the piece, as in the printed list; only in a piece's first step
}

// Next is the number of the next step.
func (s Step) Next() int { return s.N + 1 }

// Before is the number of the step before.
func (s Step) Before() int { return s.N - 1 }

// Of are the steps to chalk all pieces: for each piece the start, its lettered points, those on one line in one step,
// its edges, and its marks.
func Of(f *figures.Figures) (out []Step) {
	put := func(s Step) {
		s.N = len(out) + 1
		out = append(out, s)
	}
	for _, c := range f.Cloths {
		put(Step{Piece: c.Name, Head: "Lay the cloth", Note: f.ClothWords(c) + "."})
	}
	if f.Unlaid != "" {
		put(Step{Piece: "cloth", Head: "Lay the cloth", Note: f.Unlaid})
	}
	for _, p := range f.Pieces {
		m := p.Marking
		put(Step{Piece: p.Name, Head: p.Name + ": " + p.Words(), Note: "Measure across from " + m.Across + ", and down from " + m.Down + ". Lay the cloth or the paper so, and chalk both lines.", Picture: p.SmallDrawing()})
		for _, q := range p.Places {
			put(Step{Piece: p.Name, Head: p.Name + " on the cloth " + q.Cloth, Note: q.Words(p.Copies()) + "."})
		}
		for _, l := range m.Lines {
			put(Step{Piece: p.Name, Head: "Chalk " + l.Letters(), Spots: l.Places, Lies: l.Along})
		}
		var edge *Step
		for _, q := range m.Outline {
			if q.First || edge == nil {
				if edge != nil {
					edge.Rows = append(edge.Rows, q.Reached())
					put(*edge)
				}
				edge = &Step{Piece: p.Name, Head: "Join the " + q.Edge, Note: "From place to place, in this order: straight, or as it is said behind the place."}
			}
			edge.Rows = append(edge.Rows, q)
		}
		if edge != nil {
			edge.Rows = append(edge.Rows, m.Outline[0].Reached())
			put(*edge)
		}
		if len(m.Inside) > 0 {
			put(Step{Piece: p.Name, Head: "Mark on " + p.Name, Rows: m.Inside})
		}
		for _, ed := range p.Edges {
			if ed.Allowance != "" {
				edge := Step{Piece: p.Name, Head: "Add the allowance", Note: allowances(p)}
				put(edge)
				break
			}
		}
	}
	return out
}

func allowances(p figures.PieceFigures) string {
	var words []string
	for _, ed := range p.Edges {
		if ed.Allowance != "" {
			words = append(words, ed.Name+" "+ed.Allowance)
		}
	}
	return strings.Join(words, "; ") + "."
}
