// Package sewn looks at a garment as it is sewn together: seams are walked, corners added, promised ease
// measured, pieces laid on their cloth, notions counted. It takes a Garment and gives findings, which it
// adds to the draft's, and the figures of seams, girths and notions. Lengths are in the draft's unit.
package sewn

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/pleats"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/pattern"
)

// pairFigure is one seam as walked, for the table of figures. Lengths in the draft's unit.
type pairFigure struct {
	A, B                   string
	LengthA, LengthB, Ease float64
	Off                    float64 // by how much the second is longer than it is meant to be; 0 where that is let pass
	Within                 float64 // what is let pass, where the sides differ by what a tape shows; else 0
	Full                   float64 // so many times as long as the second the first side is gathered; 0 where it is not
	Lap                    float64 // how much of the second is an underlap, beyond the first's
	Seam                   int     // its place among Seams, -1 of one into a slit
}

// Words are both sides.
func (p pairFigure) Words() string { return p.A + " = " + p.B }

// Sewing is a garment with what came of sewing it together.
type Sewing struct {
	*pieces.Garment
	Pairs   []pairFigure
	Girths  []girthFigure
	Notions []notion
	Seams   []pattern.Seam
	steps   []func()                 // what is worked out of the sections, in order
	later   []func()                 // and what needs all seams: corners at their ends, notches of rows
	drawn   [][2][]drafting.SeamEdge // the two sides of each seam
	Cloths  []pattern.Cloth
	firm    map[string]bool // cloths that are said not to fray
	// slitsSewn is how many sides of each slit stand in seams.
	slitsSewn map[*pieces.Slit]float64
}

// Read reads the draft's sections, those of pieces first: every slip of the pen is told at once.
func (e *Sewing) Read() {
	e.Garment.Read()
	e.ReadToile()
	e.readCloths()
	e.eachOf("sewn", e.readSeam)
	e.readEase()
	e.readNotions()
	e.Alter(e.drawn)
}

// then keeps what is worked out once all pieces are made.
func (e *Sewing) then(work func()) { e.steps = append(e.steps, work) }

// eachOf reads the sentences of a section that is a list, and keeps what is worked out of each.
func (e *Sewing) eachOf(section string, read func(s *sentence.Sentence) (work func())) {
	if en, ok := e.Sections[section]; ok {
		for _, s := range e.Sentences(en.Node) {
			e.Try(func() { e.then(read(s)) })
		}
	}
}

// Sew looks at the pieces, which are made, as they are sewn together: darts and folds, then what the sections say of
// seams, ease and notions.
func (e *Sewing) Sew() {
	for _, pc := range e.Pieces {
		e.MakeDarts(pc)
		cutSlits(pc)
	}
	e.foldCorners()
	e.Run(e.steps)
	for _, work := range e.later {
		work()
	}
	e.cutOrMarked()
}

// saidOfSeam are the words that say more of a seam behind a comma; words that begin with none of them are a length.
var saidOfSeam = []string{"gathered", "within", "underlap", "laid on", "pointed at", "eased", "allowances differ"}

// seamMend says how more is said of a seam.
var seamMend = "say 0.5 longer or 0.5 shorter, as the second side is, or one of " + strings.Join(saidOfSeam, ", ") + "; what is sewn to a part of an edge is sewn to an edge of its own: divide it in the drawing"

// noLength are words with which no length begins, and which a person says of where a seam lies.
var noLength = []string{"at", "on", "in", "to", "from", "between", "with", "one", "two", "starting", "centred"}

// readSeam reads which edges are sewn together; the function it gives walks them on the worn stitch lines, and looks at the
// corners where the seam ends.
func (e *Sewing) readSeam(s *sentence.Sentence) func() {
	p := tree.NewParser(s, e.Top)
	a, names, drawnA := e.readSide(p)
	if !p.Sign('=') {
		p.Fail(p.At, "an = and the other side of the seam is wanted here, not "+p.Seen(), "")
	}
	b, others, drawnB := e.readSide(p)
	var pointed []string // edges whose corners are meant
	var within, ease, full, under tree.Number
	fullAt := 0
	var lap lastEdge
	less, laid, unlike, gathered := 1.0, false, false, false // laid one on top of the other, no edge runs on across
	for p.Sign(',') {
		switch {
		case p.Take("pointed at"):
			pointed = append(pointed, pieces.PointedAt(p, append(names[:len(names):len(names)], others...)))
		case p.Take("laid on"):
			laid = true
		case p.Take("allowances differ"):
			unlike = true
		case p.Take("within"):
			within = p.Sum()
		case p.Take("underlap"):
			under = p.SumWhere(tree.MoreThan0, "an underlap of %s", "say how much: underlap 3")
			lap = lastEdge{at: p.At}
			p.Want("at", " and the edge at which the underlap ends")
			lap.beside = pieces.PointedAt(p, others)
		case p.Take("gathered"):
			gathered = true
			if p.Space(); !p.Done() && p.RuneAt(p.At) != ',' {
				if fullAt = p.At; p.Is("to") >= 0 {
					p.Fail(p.At, p.Seen()+" is no number of times", "say gathered alone, and what comes of it is told, or gathered 2 to 1")
				}
				full = p.SumWhere(func(v float64) bool { return v > 1 }, "gathers of %s to 1", "it is more than 1")
				if p.TakeAny("to 1", "times") == "" {
					p.Fail(p.At, "to 1 is wanted here, not "+p.Seen(), "say gathered 2 to 1")
				}
			}
		default:
			if p.TakeAny("ease", "eased") != "" {
				p.Fail(p.At, "which side is eased is not said", "say "+p.After()+" longer: the second side is longer by so much and eased into the first")
			}
			if w := p.Word(); strings.HasPrefix(sentence.Nearest(w, saidOfSeam), "did") && e.Top.Definitions[w] == nil {
				p.Fail(p.At, sentence.Quote(w)+" is not what is said of a seam", sentence.Nearest(w, saidOfSeam))
			}
			if slices.Contains(noLength, p.Word()) {
				p.Fail(p.At, sentence.Quote(p.Word())+" is not what is said of a seam", seamMend)
			}
			ease = p.Sum()
			switch p.TakeAny("longer", "shorter") {
			case "longer":
				less = 1
			case "shorter":
				less = -1
			default:
				p.Fail(p.At, "longer or shorter is wanted here, not "+p.Seen(), seamMend)
			}
		}
	}
	p.End()
	e.drawn = append(e.drawn, [2][]drafting.SeamEdge{drawnA, drawnB})
	return func() {
		seam := pattern.Seam{Note: string(s.Text), Line: s.Line, Column: s.Column, Gathered: gathered, Corners: true}
		a, b := a(), b()
		if !e.Blocked() && (hasSlit(a) || hasSlit(b)) {
			if gathered || under != nil {
				p.Refuse(0, "what is sewn into a slit is neither gathered nor has it an underlap", "draw it as long as the slit is")
				return
			}
			by, let := 0.0, 0.0
			if ease != nil {
				by = less * ease()
			}
			if within != nil {
				let = within()
			}
			e.slitSeam(s, a, b, by, let)
			return
		}
		if e.Blocked() || e.sewnOnFold(p, a) || e.sewnOnFold(p, b) {
			return
		}
		la, lb := sideLength(a), sideLength(b)
		lapA, lapB := underlaps(a), underlaps(b)
		if under != nil {
			lapB += e.lap(p, lap, b, under())
		}
		by, fullness := lapB-lapA, 0.0
		switch {
		case gathered:
			fullness = fullnessOf(p, a, b, lapA, lapB)
			if full != nil {
				off := fullnessOff * full() * (lb - lapB)
				if within != nil {
					off = within()
				}
				e.fullnessSaid(p, fullAt, a, la, lapA+full()*(lb-lapB), off, fullness, full())
			}
			by = lb - la
		case ease != nil:
			by += less * ease()
		}
		seam.Underlap = (lapB - lapA) * e.UnitMM
		seam.Lapped = lap.beside != "" || lapA != lapB
		if within != nil {
			seam.Tolerance = within() * e.UnitMM
		}
		if e.Blocked() {
			return
		}
		seam.Ease = by * e.UnitMM
		off := seam.Off(la*e.UnitMM, lb*e.UnitMM, e.SeamTolerance) / e.UnitMM
		passed := 0.0
		if most := cmp.Or(seam.Tolerance, e.SeamTolerance); off == 0 && !gathered && math.Abs(lb-la-by)*e.UnitMM > tapeShows {
			passed = most / e.UnitMM
		}
		e.Pairs = append(e.Pairs, pairFigure{sideWords(a), sideWords(b), la, lb, by, off, passed, fullness, lapB - lapA, len(e.Seams)})
		e.bothHands(s, a, b)
		if !gathered {
			e.partnerNotches(a, b)
		}
		if !laid {
			e.trueCorners(s, a, b, pointed, unlike)
		}
		if !laid && !unlike {
			e.unlikeAllowances(s, a, b)
		}
		seam.A, seam.B, seam.Unnotched = refs(a), refs(b), unnotched(a) || unnotched(b)
		e.Seams = append(e.Seams, seam)
	}
}

// tapeShows is the least difference, in mm, that is told of two lengths: half of what a tape shows.
const tapeShows = 0.5

// lastEdge is where a drawn band has its underlap: at the end that meets an edge.
type lastEdge struct {
	beside string
	at     int
}

// lap draws where the underlap of a drawn band begins, across it as its end lies, notes it of the edge and gives how long it
// is; b is the side whose last edge is the band's.
func (e *Sewing) lap(p *tree.Parser, where lastEdge, b []edgeTimes, by float64) float64 {
	r := &b[len(b)-1]
	if has := r.Piece.Underlap; has > 0 {
		p.Refuse(where.at, fmt.Sprintf("the underlap of %s is told twice: it is made with one of %s", r.Piece.Name, e.WithUnit(has)), "take it out of the seam, which leaves the other free")
		return by
	}
	ring, n := r.Piece.Worn, len(r.Piece.Worn)
	c, end := ring[r.Edge].Curve, ring[(r.Edge+1)%n].Curve
	at := 1
	switch where.beside {
	case ring[(r.Edge+1)%n].Name:
		c = c.Reversed()
	case ring[(r.Edge+n-1)%n].Name:
		at, end = 0, ring[(r.Edge+n-1)%n].Curve.Reversed()
	default:
		p.Refuse(where.at, fmt.Sprintf("the %s of %s does not meet %q", ring[r.Edge].Name, r.Piece.Name, where.beside), "say underlap and how much, at, and the edge at the band's end")
		return by
	}
	if by >= c.Length() {
		p.Refuse(where.at, "the underlap is longer than the "+ring[r.Edge].Name, "")
		return by
	}
	r.Free[at] = by
	from, _ := c.At(by)
	to := geom.Add(from, geom.Sub(end.End(), end.Start()))
	r.Piece.Marks = append(r.Piece.Marks, pleats.InnerLine{From: r.Piece.Open.Flat(from), To: r.Piece.Open.Flat(to), Name: "underlap"})
	return by
}

// unnotched tells of a side with a strip, or another piece that is not drawn, of which no notch is told.
func unnotched(side []edgeTimes) bool {
	return slices.ContainsFunc(side, func(r edgeTimes) bool { return r.Piece.Drawing == nil && len(r.statedNotches()) == 0 })
}

// readSide reads the edges of one side of a seam, joined by +, and the names that their pieces' edges may have.
func (e *Sewing) readSide(p *tree.Parser) (side func() []edgeTimes, names []string, drawn []drafting.SeamEdge) {
	var times []float64
	var edges []pieces.EdgeOf
	var slits []*pieces.Slit // nil for an edge
	for {
		times = append(times, readTimes(p))
		pc, slit, is := e.readSlit(p)
		slits = append(slits, slit)
		if is {
			edges, drawn = append(edges, pieces.EdgeOf{Piece: pc}), append(drawn, drawnSlit(pc, slit))
		} else {
			edge := e.PieceEdge(p)
			edges, names, drawn = append(edges, edge), append(names, edge.Piece.EdgeNames()...), append(drawn, edge.Drawn())
		}
		if !p.Sign('+') {
			break
		}
	}
	return func() []edgeTimes {
		var out []edgeTimes
		for k, edge := range edges {
			if slits[k] != nil {
				out = append(out, edgeTimes{Piece: edge.Piece, Edge: -1, Times: times[k], Slit: slits[k]})
				continue
			}
			r := edgeTimes{Piece: edge.Piece, Edge: edge.Index(), Times: times[k]}
			if r.Edge >= 0 {
				r.Free = r.Piece.UnderlapOf(r.Edge)
			}
			out = append(out, r)
		}
		return out
	}, names, drawn
}

// fullnessOf is how many times as long as its second side a seam's first is that is gathered into it, both without their
// underlaps, which are sewn to nothing. It refuses one that is not, at least a little, longer, or is longer than cloth takes.
func fullnessOf(p *tree.Parser, a, b []edgeTimes, lapA, lapB float64) float64 {
	full := (sideLength(a) - lapA) / (sideLength(b) - lapB)
	if !(full >= 1.05 && full <= 6) {
		p.Refuse(0, fmt.Sprintf("%s is gathered into %s, and is %.2f times as long", sideWords(a), sideWords(b), full),
			"name the side that is gathered first; 1.2 to 3 times as long is usual")
	}
	return full
}

// fullnessOff is by what part of its length a gathered side may differ from what is said, where no within is: gathers are
// spread by hand (from memory).
const fullnessOff = 0.02

// fullnessSaid refuses gathers that do not come to what is said of them; wanted is how long the side would be, off by how much it may differ.
func (e *Sewing) fullnessSaid(p *tree.Parser, at int, a []edgeTimes, long, wanted, off, full, said float64) {
	if math.Abs(long-wanted) > off {
		p.Unfit(at, fmt.Sprintf("%s is gathered %.2f to 1 as drawn, and %s to 1 is said", sideWords(a), full, sentence.FormatNumber(said)),
			fmt.Sprintf("draw it %s long, or say gathered %.2f to 1, or by how much it may differ: gathered %s to 1, within %s", e.WithUnit(wanted), full, sentence.FormatNumber(said), e.Example(math.Abs(long-wanted)*e.UnitMM+1.6)))
	}
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
