// Package sewn looks at a garment as it is sewn together: seams are walked, corners added, promised ease
// measured, pieces laid on their cloth, notions counted. It takes a Garment and gives findings, which it
// adds to the draft's, and the figures of seams, girths and notions. Lengths are in the draft's unit.
package sewn

import (
	"fmt"
	"slices"
	"strings"

	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/pattern"
)

// pairFigure is one seam as walked, for the table of figures. Lengths in the draft's unit.
type pairFigure struct {
	Words                  string
	LengthA, LengthB, Ease float64
}

// edgeTimes is an edge in a seam, taken once or more often.
type edgeTimes struct {
	Piece *pieces.Piece
	Edge  int
	Times float64
}

// Sewing is a garment with what came of sewing it together.
type Sewing struct {
	*pieces.Garment
	Pairs   []pairFigure
	Girths  []girthFigure
	Notions []notion
	Seams   []pattern.Seam
}

// WalkSeams reads which edges are sewn together, walks each pair on the worn stitch lines, and looks
// at the corners where the seams end.
func (e *Sewing) WalkSeams() {
	for _, pc := range e.Pieces {
		e.Try(func() { e.MakeDarts(pc) })
	}
	e.foldCorners()
	en, ok := e.Sections["sewn"]
	if !ok {
		return
	}
	for _, s := range e.Sentences(en.Node) {
		e.Try(func() { e.seam(s) })
	}
}

func (e *Sewing) seam(s *sentence.Sentence) {
	p := tree.NewParser(s, e.Top)
	a := e.seamSide(p)
	if !p.Sign('=') {
		p.Fail(p.At, "an = and the other side of the seam is wanted here, not "+p.Seen(), "")
	}
	b := e.seamSide(p)
	var pointed []string // edges whose corners are meant
	tolerance := 0.0
	ease := 0.0
	laid := false // one on top of the other: no edge runs on across
	gathered := 0.0
	for p.Sign(',') {
		switch {
		case p.Take("pointed at"):
			var names []string
			for _, r := range append(a[:len(a):len(a)], b...) {
				names = append(names, r.Piece.EdgeNames()...)
			}
			pointed = append(pointed, pieces.PointedAt(p, names))
		case p.Take("laid on"):
			laid = true
		case p.Take("within"):
			tolerance = tree.Now(p, p.Sum()) * e.UnitMM
		case p.Take("gathered"):
			gathered = readGathered(p, a, b)
		default:
			if p.TakeAny("ease", "eased") != "" {
				p.Fail(p.At, "which side is eased is not said", "say "+p.After()+" longer: the second side is longer by so much and eased into the first")
			}
			ease = tree.Now(p, p.Sum())
			if p.TakeAny("longer", "shorter") == "" {
				p.Fail(p.At, "longer or shorter is wanted here, not "+p.Seen(), "")
			}
			if strings.HasSuffix(strings.TrimSpace(string(s.Text[:p.At])), "shorter") {
				ease = -ease
			}
		}
	}
	p.End()
	la, lb := sideLength(a), sideLength(b)
	if gathered > 0 {
		ease = lb - la
	}
	words := sideWords(a) + " = " + sideWords(b)
	e.Pairs = append(e.Pairs, pairFigure{words, la, lb, ease})
	e.bothHands(s, a, b)
	if gathered == 0 {
		e.partnerNotches(a, b)
	}
	if !laid {
		e.trueCorners(s, a, b, pointed)
	}
	e.Seams = append(e.Seams, pattern.Seam{A: refs(a), B: refs(b), Ease: ease * e.UnitMM, Tolerance: tolerance, Note: string(s.Text),
		Line: s.Lines[0], Column: s.Columns[0], Gathered: gathered > 0, Unnotched: unnotched(a) || unnotched(b), Corners: true})
}

// unnotched tells of a side with a strip, or another piece that is not drawn, of which no notch is told.
func unnotched(side []edgeTimes) bool {
	return slices.ContainsFunc(side, func(r edgeTimes) bool { return r.Piece.Drawing == nil && len(r.statedNotches()) == 0 })
}

// refs names a side's edges for the pattern.
func refs(side []edgeTimes) []pattern.EdgeRef {
	var out []pattern.EdgeRef
	for _, r := range side {
		out = append(out, pattern.EdgeRef{Piece: r.Piece.Name, Edge: r.Piece.Edges[r.Edge].Name, Times: r.Times})
	}
	return out
}

func (e *Sewing) seamSide(p *tree.Parser) []edgeTimes {
	var out []edgeTimes
	for {
		r := edgeTimes{Times: readTimes(p)}
		r.Piece, r.Edge = e.PieceEdge(p)
		out = append(out, r)
		if !p.Sign('+') {
			return out
		}
	}
}

// readGathered gives the fullness of a seam whose first side is gathered into its second: how many times
// as long it is, at least a little, and in all no more than cloth takes.
func readGathered(p *tree.Parser, a, b []edgeTimes) float64 {
	full := sideLength(a) / sideLength(b)
	if full < 1.05 || full > 6 {
		p.Fail(0, fmt.Sprintf("%s is gathered into %s, and is %.2f times as long", sideWords(a), sideWords(b), full),
			"name the side that is gathered first; 1.2 to 3 times as long is usual")
	}
	return full
}

// readTimes reads "twice", or "5 times" where as many pieces alike are joined, as gores are.
func readTimes(p *tree.Parser) float64 {
	if p.Take("twice") {
		return 2
	}
	p.Space()
	at := p.At
	n, whole := p.Digits()
	if p.At == at || !p.Take("times") {
		p.At = at // a piece's name may begin with a number
		return 1
	}
	if !whole || n < 1 || n > 99 {
		p.Fail(at, "an edge is taken "+sentence.FormatNumber(n)+" times", "say how many pieces are joined: a whole number, 1 to 99")
	}
	return n
}

func sideLength(side []edgeTimes) float64 {
	var sum float64
	for _, r := range side {
		sum += r.Times * r.Piece.WornLength(r.Edge)
	}
	return sum
}

func sideWords(side []edgeTimes) string {
	var out []string
	for _, r := range side {
		w := r.Piece.Name + " " + r.Piece.Worn[r.Edge].Name
		switch {
		case r.Times == 2:
			w = "twice " + w
		case r.Times > 2:
			w = sentence.FormatNumber(r.Times) + " times " + w
		}
		out = append(out, w)
	}
	return strings.Join(out, " + ")
}

// bothHands refuses seams for which pieces are missing: one that is sewn to its like is cut twice,
// and one that is sewn to a left and a right side is a pair.
func (e *Sewing) bothHands(s *sentence.Sentence, a, b []edgeTimes) {
	tell := func(pc *pieces.Piece, text, mend string) {
		for _, f := range e.Findings {
			if f.Rule == pattern.RuleQuantityMissing && f.Piece == pc.Name {
				return // once is enough
			}
		}
		f := e.Note(s, pattern.RuleQuantityMissing, pattern.Error, text, mend)
		f.Piece, f.Index = pc.Name, e.IndexOf(pc)
	}
	if len(a) == 1 && len(b) == 1 && a[0].Piece == b[0].Piece && a[0].Edge == b[0].Edge && a[0].Piece.Quantity < 2 {
		tell(a[0].Piece, fmt.Sprintf("%q is sewn to another of its kind, and only one is cut: the seam has one side", a[0].Piece.Name), "say cut 2")
		return
	}
	for _, two := range [][2][]edgeTimes{{a, b}, {b, a}} {
		for _, r := range two[0] {
			pairs := r.Piece.Pair || !r.Piece.Alike && r.Piece.Quantity%2 == 0 // see pattern.Piece.Hands
			if pairs || r.Piece.OnFold || r.Piece.Quantity < 2 || r.Piece.Drawing == nil {
				continue
			}
			for _, o := range two[1] {
				if o.Piece.OnFold || o.Piece.Pair {
					tell(r.Piece, fmt.Sprintf("%d of %q are cut alike and none is mirrored, and it is sewn to a left and a right side of %q", r.Piece.Quantity, r.Piece.Name, o.Piece.Name),
						"say cut 2, a pair")
					break
				}
			}
		}
	}
}
