package pieces

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"tracewheel/geom/offset"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// edgeWidth is an edge's allowance, in the draft's unit, and how its ends are finished.
type edgeWidth struct {
	From, To   float64
	Start, End offset.CornerKind
	own        bool // told of the edge by its own name
}

// widestAllowance, in mm, is past the deepest hem (from memory: hems up to 15 cm); more is a slip.
const widestAllowance = 250

// cornerFinish is a word for how the end of an allowance is finished.
type cornerFinish struct {
	word string
	kind offset.CornerKind
}

var finishes = []cornerFinish{
	{"mirrored", offset.Mirrored}, {"folded back", offset.Mirrored}, {"squared", offset.Squared}, {"mitred", offset.Mitred},
	{"blunted", offset.Blunted}, {"stepped", offset.Stepped},
}

// readAllowances reads the allow section: by kind of edge, with exceptions for one piece, and for all
// the rest.
func (e *Garment) readAllowances() {
	var entries []sentence.Entry
	if en, ok := e.Sections["allow"]; ok && en.Sentence != nil {
		entries = []sentence.Entry{{Key: "all", KeyNode: en.KeyNode, Node: en.Node, Sentence: en.Sentence}}
	} else if ok {
		entries = e.Entries(en.Node)
	}
	before := len(e.Faults)
	var steps [3][]func() // the rest first, then kinds, then single edges
	for _, x := range entries {
		if x.Sentence == nil {
			continue
		}
		e.Try(func() {
			rank, work := e.readAllowance(x)
			steps[rank] = append(steps[rank], work...)
		})
	}
	slips := len(e.Faults) - before
	e.steps = append(e.steps, func() { before = len(e.Faults) - slips })
	e.steps = append(e.steps, slices.Concat(steps[:]...)...)
	e.steps = append(e.steps, func() {
		if len(e.Faults) == before { // a line that is mended may be the one that is missing
			e.needAllowances()
		}
	})
}

// allowanceRank tells which edges a key of the allow section is about: 0 where it is about all, 1 about a kind of
// edge or all of a piece's, 2 about one; -1 where the edge is none of them.
func allowanceRank(key string, pc *Piece, edge string) int {
	switch key {
	case "all":
		return 0
	case edge, pc.Name:
		return 1
	case pc.Name + " " + edge:
		return 2
	}
	return -1
}

// readAllowance reads one line of the section, for each piece that it is about.
func (e *Garment) readAllowance(x sentence.Entry) (rank int, steps []func()) {
	found := 0
	rank = 2
	unknown := func() {
		if len(e.gone) > 0 || x.Key == "all" {
			return
		}
		mend, known := "", []string{"all"}
		for _, pc := range e.Pieces {
			for _, n := range pc.names {
				if !slices.Contains(known, n) {
					known = append(known, n)
				}
			}
			if pc.from != nil {
				mend = cmp.Or(mend, pc.from.LeftOut(x.Key))
			}
		}
		e.AddFault(x.KeyNode, sentence.Quote(x.Key)+" is no edge of any piece", cmp.Or(mend, e.Nearest(x.Key, known)))
	}
	for _, pc := range e.Pieces {
		about := false
		for _, n := range pc.names {
			if r := allowanceRank(x.Key, pc, n); r >= 0 {
				about, rank = true, min(rank, r)
			}
		}
		if !about {
			continue
		}
		p := tree.NewParser(x.Sentence, pc.Scope)
		width := e.readWidth(p)
		steps = append(steps, func() {
			for i, ed := range pc.Edges {
				about := allowanceRank(x.Key, pc, ed.Name)
				goesOn := about < 0 && allowanceRank(x.Key, pc, pc.goesOnFrom(ed.Name)) >= 0
				if about < 0 && !goesOn || !pc.made {
					continue
				}
				found++
				if goesOn && i < len(pc.Widths) && pc.Widths[i] != nil && pc.Widths[i].own {
					continue
				}
				w := width(pc, i)
				w.own = about > 0 && x.Key != pc.Name
				for len(pc.Widths) < len(pc.Edges) {
					pc.Widths = append(pc.Widths, nil)
				}
				pc.Widths[i] = w
			}
		})
	}
	if len(steps) == 0 {
		unknown()
		return 0, nil
	}
	return rank, append(steps, func() {
		if found == 0 && !slices.ContainsFunc(e.Pieces, func(pc *Piece) bool { return !pc.made }) {
			unknown() // it may lie in a dart that is moved away, or in the other panel
		}
	})
}

// goesOnFrom is the edge beside the end of a button stand, in whose line that end lies, as it does in the hem's or the neck's;
// "" for any other edge. What is told of that edge counts for the end too, where nothing else is told of it: the two are turned
// or faced in one.
func (pc *Piece) goesOnFrom(name string) string {
	if pc.from == nil || !standEnd(pc.from, name) {
		return ""
	}
	edges := pc.from.Edges
	i, n := curve.IndexOf(edges, name), len(edges)
	if i < 0 {
		return ""
	}
	if next := edges[(i+1)%n].Name; !strings.HasSuffix(name, " end of "+next) {
		return next
	}
	return edges[(i+n-1)%n].Name
}

// readWidth reads "1", "1 to 2", "none" and how the ends are finished: "mirrored", or "squared at shoulder".
func (e *Garment) readWidth(p *tree.Parser) func(pc *Piece, i int) *edgeWidth {
	from := func() float64 { return 0 }
	if !p.Take("none") {
		from = p.Sum()
	}
	to := from
	if p.Take("to") {
		to = p.Sum()
	}
	type finish struct {
		kind offset.CornerKind
		at   string // the edge beside, empty for both ends
	}
	var ends []finish
	for {
		p.Sign(',')
		i := slices.IndexFunc(finishes, func(f cornerFinish) bool { return p.Take(f.word) })
		if i < 0 {
			break
		}
		f := finish{kind: finishes[i].kind}
		if p.Take("at") {
			p.Take("the")
			at := p.At
			var all, ok = []string(nil), false
			for _, q := range e.Pieces {
				all = append(all, q.names...)
			}
			if f.at, ok = p.Name(all); !ok {
				p.Fail(at, sentence.Quote(p.Word())+" is no edge", e.Nearest(p.Word(), all))
			}
		}
		ends = append(ends, f)
	}
	noFinish(p)
	p.End()
	return func(pc *Piece, i int) *edgeWidth {
		w := &edgeWidth{From: from(), To: to()}
		if w.From < 0 || w.To < 0 {
			p.Refuse(0, "an allowance of "+p.Say(w.From), "an allowance is 0 or more")
		}
		if most := math.Max(w.From, w.To); most*e.UnitMM > widestAllowance {
			p.Refuse(0, "an allowance of "+e.WithUnit(most)+" is wider than any seam or hem takes", "look at the unit, and at the stroke of a fraction: 3/8")
		}
		n := len(pc.Edges)
		for _, f := range ends {
			if f.at == "" || pc.Edges[(i+n-1)%n].Name == f.at {
				w.Start = f.kind
			}
			if f.at == "" || pc.Edges[(i+1)%n].Name == f.at {
				w.End = f.kind
			}
		}
		return w
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
		if pc.Included || !pc.made {
			continue
		}
		for i, ed := range pc.Edges {
			if !ed.Fold && (i >= len(pc.Widths) || pc.Widths[i] == nil) && !named[ed.Name] {
				named[ed.Name] = true
				e.Faults = append(e.Faults, sentence.Fault{File: pc.Sentence.File, Line: pc.Sentence.Line, Column: pc.Sentence.Column,
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
