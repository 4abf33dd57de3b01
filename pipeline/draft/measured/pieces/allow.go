package pieces

import (
	"math"
	"slices"

	"tracewheel/geom/offset"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/pattern"
)

// edgeWidth is an edge's allowance, in the draft's unit, and how its ends are finished.
type edgeWidth struct {
	From, To   float64
	Start, End offset.CornerKind
}

// widestAllowance, in mm, is past the deepest hem (from memory: hems up to 15 cm); more is a slip.
const widestAllowance = 250

// narrowestAllowance, in mm, is that of a rolled hem or a bound vent (1/8 in; trade article on seam
// allowances). What is less, and not 0 for a bound edge, is more likely a slip of the point.
const narrowestAllowance = 3

var finishes = []struct {
	word string
	kind offset.CornerKind
}{
	{"mirrored", offset.Mirrored}, {"folded back", offset.Mirrored}, {"squared", offset.Squared}, {"mitred", offset.Mitred},
	{"blunted", offset.Blunted}, {"stepped", offset.Stepped},
}

// MakeAllowances reads the allow section: by kind of edge, with exceptions for one piece, and for all
// the rest.
func (e *Garment) MakeAllowances() {
	en, ok := e.Sections["allow"]
	if !ok {
		e.needAllowances()
		return
	}
	before := len(e.Faults)
	entries := []sentence.Entry{{Key: "all", KeyNode: en.KeyNode, Node: en.Node, Sentence: en.Sentence}}
	if en.Sentence == nil {
		entries = e.Entries(en.Node)
	}
	for pass := range 3 { // the rest first, then kinds, then single edges
		for _, x := range entries {
			if x.Sentence == nil {
				continue
			}
			e.Try(func() { e.allowance(x, pass) })
		}
	}
	if len(e.Faults) == before { // a line that is mended may be the one that is missing
		e.needAllowances()
	}
}

func (e *Garment) allowance(x sentence.Entry, pass int) {
	kindPass := 2
	var pcs []*Piece
	var idx []int
	add := func(pc *Piece, i int) { pcs, idx = append(pcs, pc), append(idx, i) }
	for _, pc := range e.Pieces {
		for i, ed := range pc.Edges {
			switch x.Key {
			case "all":
				kindPass = 0
				add(pc, i)
			case ed.Name:
				kindPass = 1
				add(pc, i)
			case pc.Name + " " + ed.Name, pc.Name:
				if x.Key == pc.Name && kindPass == 2 {
					kindPass = 1
				}
				add(pc, i)
			}
		}
	}
	if len(pcs) == 0 {
		if pass == 0 && len(e.gone) == 0 && x.Key != "all" {
			known := []string{"all"}
			for _, pc := range e.Pieces {
				for _, n := range pc.EdgeNames() {
					if !slices.Contains(known, n) {
						known = append(known, n)
					}
				}
			}
			e.AddFault(x.KeyNode, sentence.Quote(x.Key)+" is no edge of any piece", sentence.Nearest(x.Key, known))
		}
		return
	}
	if kindPass != pass {
		return
	}
	for k, pc := range pcs {
		p := tree.NewParser(x.Sentence, pc.Scope)
		w := &edgeWidth{}
		w.From = tree.Now(p, p.Sum())
		w.To = w.From
		if p.Take("to") {
			w.To = tree.Now(p, p.Sum())
		}
		if w.From < 0 || w.To < 0 {
			p.Fail(0, "an allowance of "+sentence.FormatNumber(w.From), "an allowance is 0 or more")
		}
		if most := math.Max(w.From, w.To); most*e.UnitMM > widestAllowance {
			p.Fail(0, "an allowance of "+e.WithUnit(most)+" is wider than any seam or hem takes", "look at the unit, and at the stroke of a fraction: 3/8")
		}
		if least := math.Min(w.From, w.To) * e.UnitMM; k == 0 && least > 0 && least < narrowestAllowance {
			e.Note(x.Sentence, pattern.RuleAllowanceNarrow, pattern.Warning, "an allowance of "+e.WithUnit(math.Min(w.From, w.To))+" is narrower than a seam takes",
				"look at the unit and the point; an edge that is bound has 0")
		}
		e.cornerFinish(p, pc, idx[k], w)
		p.End()
		for len(pc.Widths) < len(pc.Edges) {
			pc.Widths = append(pc.Widths, nil)
		}
		pc.Widths[idx[k]] = w
	}
}

// cornerFinish reads how the ends are finished: "mirrored", or "squared at shoulder".
func (e *Garment) cornerFinish(p *tree.Parser, pc *Piece, i int, w *edgeWidth) {
	for {
		p.Sign(',')
		kind, found := offset.Mitred, false
		for _, f := range finishes {
			if p.Take(f.word) {
				kind, found = f.kind, true
				break
			}
		}
		if !found {
			noFinish(p)
			return
		}
		if !p.Take("at") {
			w.Start, w.End = kind, kind
			continue
		}
		p.Take("the")
		at := p.At
		var all []string
		for _, q := range e.Pieces {
			all = append(all, q.EdgeNames()...)
		}
		n, ok := p.Name(all)
		if !ok {
			p.Fail(at, sentence.Quote(p.Word())+" is no edge", sentence.Nearest(p.Word(), all))
		}
		count := len(pc.Edges)
		if pc.Edges[(i+count-1)%count].Name == n {
			w.Start = kind
		}
		if pc.Edges[(i+1)%count].Name == n {
			w.End = kind
		}
	}
}

// noFinish refuses what stands where a finish may stand and is none.
func noFinish(p *tree.Parser) {
	if w := p.Word(); w != "" {
		var known []string
		for _, f := range finishes {
			known = append(known, f.word)
		}
		p.Fail(p.At, p.Seen()+" is no finish of a corner", sentence.Nearest(w, known))
	}
}

// needAllowances refuses pieces of which an edge has no width stated.
func (e *Garment) needAllowances() {
	named := map[string]bool{}
	for _, pc := range e.Pieces {
		if pc.Included {
			continue
		}
		for i, ed := range pc.Edges {
			if !ed.Fold && (i >= len(pc.Widths) || pc.Widths[i] == nil) && !named[ed.Name] {
				named[ed.Name] = true
				e.Faults = append(e.Faults, sentence.Fault{File: pc.Sentence.File, Line: pc.Sentence.Lines[0], Column: pc.Sentence.Columns[0],
					Text: "the piece " + sentence.Quote(pc.Name) + " has no allowance on its edge " + sentence.Quote(ed.Name),
					Mend: "add a line for " + sentence.Quote(ed.Name) + " under allow, or one for all, or say allowance included"})
				break
			}
		}
	}
}

// Width is the allowance of edge i in mm; a fold and what is cut as drawn have none.
func (pc *Piece) Width(i int) float64 {
	if pc.Included || i >= len(pc.Widths) || pc.Widths[i] == nil || pc.Edges[i].Fold {
		return 0
	}
	return pc.Widths[i].From * pc.Scope.Context.UnitMM
}
