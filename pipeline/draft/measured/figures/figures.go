// Package figures writes what was drawn: the list to check with a tape and chalk from, as text, page or
// JSON, in the draft's unit; and the pattern that travels on, in mm, y up. It takes what the room sewn
// gives and changes nothing in it.
package figures

import (
	"cmp"
	"slices"

	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/sewn"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/pattern"
)

// Figures is what a person checks with a tape and chalks from: all lengths in the unit in which the body was measured.
type Figures struct {
	Style   string         `json:"style"`
	Body    string         `json:"body"`
	Fitted  string         `json:"fitted,omitempty"`   // dates of the fittings that went into the pieces
	Changes []string       `json:"changes,omitempty"`  // what they changed, as the card says it
	LeftOut []string       `json:"left_out,omitempty"` // what else the card says and these figures do not have
	Unit    string         `json:"unit"`
	Drafted string         `json:"drafted_in"` // the draft's own unit, in which its numbers count
	Numbers []NamedNumber  `json:"numbers"`
	Cloths  []Cloth        `json:"cloths,omitempty"` // those on which the pieces lie, where a lay is known
	Unlaid  string         `json:"unlaid,omitempty"` // why none is
	Pieces  []PieceFigures `json:"pieces"`           // where a lay is known, in the order in which they lie from the cut end
	Girths  []Girth        `json:"girths"`
	Seams   []SeamFigures  `json:"seams"`
	Notions []Notion       `json:"notions"`
	Truings []Truing       `json:"truings"`

	unmet int // what is wrong between the right side of the wearer and the left one
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
	OnFold   bool          `json:"on_fold,omitempty"`
	Twice    bool          `json:"on_two_folds,omitempty"`
	Pair     bool          `json:"pair"`  // half of them mirrored, said or meant
	Alike    bool          `json:"alike"` // said to be of one hand
	Material string        `json:"material"`
	Grain    string        `json:"grain"`            // how it lies to the piece as it is listed: plumb, level or on the bias
	Area     float64       `json:"area"`             // as cut, net, in the unit squared
	Places   []Place       `json:"places,omitempty"` // where a lay is known, from the cut end
	Edges    []EdgeFigures `json:"edges"`
	Marking  MarkingOut    `json:"marking_out"`

	// Half is the piece of which this is the one half, where the wearer's sides differ and it is cut in one; "" of a whole piece.
	Half string `json:"half_of,omitempty"`
	// Mirrored is what is cut as the mirror image of its picture.
	Mirrored bool `json:"mirrored,omitempty"`

	drawn pattern.Piece // for its picture
}

// EdgeFigures is an edge's length as worn and as cut.
type EdgeFigures struct {
	Name string  `json:"name"`
	Worn float64 `json:"worn"`
	Cut  float64 `json:"cut"`
	// Sewn is Worn as it is read off a tape: edges that are sewn together without ease are rounded alike.
	Sewn string `json:"sewn"`
	// Chalk is Cut as it is chalked, its darts and pleats open; where it has none, the same as Sewn.
	Chalk string  `json:"chalk"`
	told  float64 // what Sewn says
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
	// Told is which of the draft's girths it is, from 0: where the sides of the wearer differ, one is there for each.
	Told int `json:"-"`
}

// SeamFigures is a seam as walked.
type SeamFigures struct {
	Seam   string  `json:"seam"`
	First  string  `json:"first"`
	Second string  `json:"second"`
	A      float64 `json:"a"`
	B      float64 `json:"b"`
	// SewnA and SewnB are the sides as they are read off a tape: each is the sum of what its edges are told.
	SewnA float64 `json:"sewn_a"`
	SewnB float64 `json:"sewn_b"`
	Ease  float64 `json:"ease"` // by how much the second side is meant to be longer, less than 0 for shorter
	// Off is by how much the second side is longer than that, less than 0 for shorter; left out where it is let pass.
	Off float64 `json:"off,omitempty"`
	// Within is by how much the sides may differ from what is stated, where they do and it is let pass; left out of others.
	Within float64 `json:"within,omitempty"`
	// Gathers are how much longer the first side is, 2 where it is gathered 2 to 1, both without underlaps; left out of a
	// seam without.
	Gathers float64 `json:"gathers,omitempty"`
	// Underlap is how much of B, beyond A's, is sewn to nothing.
	Underlap float64 `json:"underlap,omitempty"`
	// Told is which of the draft's seams it is, from 0: where the sides of the wearer differ, one is there for each.
	Told int `json:"-"`
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
	for i, pc := range listed(e) {
		f.Pieces[i].Marking = marking(pc, tapeUnits[f.Unit])
		f.Pieces[i].Marking.Exactly = f.Pieces[i].inBrackets()
	}
	return f
}

// listed are the pieces that are cut: all, or those of the toile.
func listed(e *sewn.Sewing) []*pieces.Piece {
	if !e.Toile {
		return e.Pieces
	}
	return slices.DeleteFunc(slices.Clone(e.Pieces), func(pc *pieces.Piece) bool { return !pc.OfToile() })
}

// Brief lists the figures without what each piece is chalked from, which takes most of the time.
func Brief(e *sewn.Sewing) *Figures {
	u := tapeUnits[e.TakenIn()]
	k := e.UnitMM / u.mm
	f := &Figures{Body: e.Body, Fitted: e.Fittings(), Changes: e.Told(), LeftOut: e.LeftOut(), Unit: u.name, Drafted: e.Unit}
	if en, ok := e.Sections["style"]; ok {
		f.Style = e.Text(en)
	}
	if e.Toile {
		f.Style = cmp.Or(f.Style, pattern.TrimYAML(e.Document.Name)) + ", toile"
	}
	told := map[*sentence.Sentence]bool{}
	for _, n := range e.Top.Order {
		if d := e.Top.Definitions[n]; d.Kind == tree.NumberKind && !told[d.Sentence] { // a measure has a second name
			told[d.Sentence] = true
			f.Numbers = append(f.Numbers, NamedNumber{n, d.Number})
		}
	}
	for _, pc := range listed(e) {
		one := pieceFigures(pc, u)
		drawn := onePiece(e, pc)
		if ring, _, ok := drawn.Ring(); ok {
			one.Pair = drawn.Hands(ring) != pattern.OneHand
		}
		one.drawn = drawn
		f.Pieces = append(f.Pieces, one)
	}
	for i, g := range e.Girths {
		f.Girths = append(f.Girths, Girth{g.Name, k * g.Finished, k * g.Body, k * (g.Finished - g.Body), g.Promise, g.Kept, i})
	}
	for i, p := range e.Pairs {
		f.Seams = append(f.Seams, SeamFigures{Seam: p.Words(), First: p.A, Second: p.B, A: k * p.LengthA, B: k * p.LengthB, Ease: k * p.Ease, Off: k * p.Off,
			Within: k * p.Within, Gathers: p.Full, Underlap: k * p.Lap, Told: i})
	}
	f.roundAlike(e, u)
	for i, pc := range listed(e) {
		for j := range f.Pieces[i].Edges {
			ed := &f.Pieces[i].Edges[j]
			ed.Chalk = bracketed(ed.Chalk, u.exactly(ed.Cut, joined(pc)))
		}
	}
	for _, t := range e.Truings {
		f.Truings = append(f.Truings, Truing{t.At, [2]float64{k * t.Carried[0], k * t.Carried[1]}, t.Turned})
	}
	for _, n := range e.Notions {
		f.Notions = append(f.Notions, Notion{n.Name, n.Count, k * n.Each, u.tape(k * float64(n.Count) * n.Each)})
	}
	return f
}

// pieceFigures lists a piece.
func pieceFigures(pc *pieces.Piece, u tapeUnit) PieceFigures {
	k := pc.Scope.Context.UnitMM / u.mm
	out := PieceFigures{Name: pc.Name, Quantity: pc.Quantity, OnFold: pc.OnFold, Twice: pc.Twice, Pair: pc.Pair, Alike: pc.Alike, Material: pc.Material, Grain: grainWords(pc), Area: k * k * curve.Area(pc.Edges)}
	for i, ed := range pc.Edges {
		f := EdgeFigures{Name: ed.Name, Worn: k * pc.WornLength(i), Cut: k * ed.Curve.Length(), Fold: ed.Fold}
		f.told = u.rounded(f.Worn)
		f.Sewn = u.say(f.told)
		f.Chalk = u.say(f.Cut)
		if !pc.Included && !ed.Fold && pc.Widths[i] != nil {
			f.Allowance = u.tape(k * pc.Widths[i].From)
			if to := u.tape(k * pc.Widths[i].To); to != f.Allowance {
				f.Allowance += " to " + to
			}
		}
		out.Edges = append(out.Edges, f)
	}
	return out
}

// grainWords says how the grain lies to the piece, and where it is so by habit.
func grainWords(pc *pieces.Piece) string {
	words := map[string]string{"plumb": "plumb, down the piece", "level": "level, across the piece", "bias": "on the bias"}[pc.Grain]
	if pc.Grain == "level" && pc.Unsaid {
		words = "level, along its length"
	}
	if pc.Unsaid {
		words += " (by habit: nothing is said)"
	}
	return words
}
