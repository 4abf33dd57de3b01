package measured

import (
	"fmt"
	"math"
	"strings"

	"tracewheel/pipeline/pattern"
)

// Limits of the trade for a plain seam, in mm: up to 1 is let pass, up to 2 warned of, more refused;
// joined corners add to 180 within 3 degrees (all common practice).
const (
	seamFine   = 1.0
	seamMost   = 2.0
	cornerFine = 3.0
)

// pairFigure is one seam as walked, for the table of figures. Lengths in the draft's unit.
type pairFigure struct {
	words      string
	a, b, ease float64
	line       int
}

// sewnRef is an edge in a seam, taken once or more often.
type sewnRef struct {
	pc    *piece
	i     int
	times float64
}

// sewing is a garment with what came of sewing it together.
type sewing struct {
	*garment
	pairs   []pairFigure
	girths  []girthFigure
	notions []notion
	seams   []pattern.Seam
}

// walkSeams reads which edges are sewn together, walks each pair on the worn stitch lines, and looks
// at the corners where the seams end.
func (e *sewing) walkSeams() {
	for _, pc := range e.pieces {
		e.try(func() { e.makeDarts(pc) })
	}
	e.foldCorners()
	en, ok := e.secs["sewn"]
	if !ok {
		return
	}
	for _, s := range e.list(en.node) {
		e.try(func() { e.seam(s) })
	}
}

func (e *sewing) seam(s *sentence) {
	p := newParser(s, e.top)
	a := e.seamSide(p)
	if !p.sign('=') {
		p.fail(p.i, "an = and the other side of the seam is wanted here, not "+p.seen(), "")
	}
	b := e.seamSide(p)
	seam := pattern.Seam{Note: string(s.text)}
	pointed := ""
	tolerance := 0.0
	ease := 0.0
	laid := false // one on top of the other: no edge runs on across
	gathered := 0.0
	for p.sign(',') {
		switch {
		case p.take("pointed at"):
			at := p.i
			var names []string
			for _, r := range append(a, b...) {
				names = append(names, r.pc.edgeNames()...)
			}
			n, ok := p.name(names)
			if !ok {
				p.fail(at, quote(p.word())+" is no edge of these pieces", nearest(p.word(), names))
			}
			pointed = n
		case p.take("laid on"):
			laid = true
		case p.take("within"):
			tolerance = p.sum() * e.unitMM
		case p.take("gathered"):
			gathered = p.readGathered(a, b)
		default:
			if p.takeAny("ease", "eased") != "" {
				p.fail(p.i, "which side is eased is not said", "say "+p.after()+" longer: the second side is longer by so much and eased into the first")
			}
			ease = p.sum()
			if p.takeAny("longer", "shorter") == "" {
				p.fail(p.i, "longer or shorter is wanted here, not "+p.seen(), "")
			}
			if strings.HasSuffix(strings.TrimSpace(string(s.text[:p.i])), "shorter") {
				ease = -ease
			}
		}
	}
	p.end()
	la, lb := sideLength(a), sideLength(b)
	if gathered > 0 {
		ease = lb - la
	}
	words := sideWords(a) + " = " + sideWords(b)
	e.pairs = append(e.pairs, pairFigure{words, la, lb, ease, s.lines[0]})
	good := gathered > 0 || e.compareSeam(s, a, b, la, lb, ease, tolerance)
	good = e.bothHands(s, a, b) && good
	if gathered == 0 {
		e.partnerNotches(a, b)
	}
	if !laid {
		good = e.trueCorners(s, a, b, pointed) && good
	}
	seam.Ease, seam.Tolerance = ease*e.unitMM, tolerance
	if !good || !plain(a) || !plain(b) || pointed != "" || laid || gathered > 0 {
		return // told already, or not to be seen on the flat pieces
	}
	for _, r := range a {
		seam.A = append(seam.A, pattern.EdgeRef{Piece: r.pc.name, Edge: r.pc.edges[r.i].name})
	}
	for _, r := range b {
		seam.B = append(seam.B, pattern.EdgeRef{Piece: r.pc.name, Edge: r.pc.edges[r.i].name})
	}
	e.seams = append(e.seams, seam)
}

// plain tells whether a side is seen on the flat pieces as it is sewn.
func plain(side []sewnRef) bool {
	for _, r := range side {
		worn, cut := r.pc.worn[r.i].c.length(), r.pc.edges[r.i].c.length()
		if r.times != 1 || math.Abs(worn-cut) > r.pc.sc.eng.hair() {
			return false // a pleat, a dart or gathers lie in it
		}
	}
	for k := 1; k < len(side); k++ {
		a, b := side[k-1], side[k]
		n := len(b.pc.edges)
		if a.pc == b.pc && (a.i+1)%n != b.i && (b.i+1)%n != a.i {
			return false // a dart's mouth lies between
		}
	}
	return true
}

func (e *sewing) seamSide(p *parser) []sewnRef {
	var out []sewnRef
	for {
		r := sewnRef{times: p.times()}
		r.pc, r.i = e.pieceEdge(p)
		out = append(out, r)
		if !p.sign('+') {
			return out
		}
	}
}

// readGathered gives the fullness of a seam whose first side is gathered into its second: how many times
// as long it is, at least a little, and in all no more than cloth takes.
func (p *parser) readGathered(a, b []sewnRef) float64 {
	full := sideLength(a) / sideLength(b)
	if full < 1.05 || full > 6 {
		p.fail(0, fmt.Sprintf("%s is gathered into %s, and is %.2f times as long", sideWords(a), sideWords(b), full),
			"name the side that is gathered first; 1.2 to 3 times as long is usual")
	}
	return full
}

// times reads "twice", or "5 times" where as many pieces alike are joined, as gores are.
func (p *parser) times() float64 {
	if p.take("twice") {
		return 2
	}
	p.space()
	at := p.i
	n, whole := p.digits()
	if p.i == at || !p.take("times") {
		p.i = at // a piece's name may begin with a number
		return 1
	}
	if !whole || n < 1 || n > 99 {
		p.fail(at, "an edge is taken "+num(n)+" times", "say how many pieces are joined: a whole number, 1 to 99")
	}
	return n
}

func sideLength(side []sewnRef) float64 {
	var sum float64
	for _, r := range side {
		sum += r.times * r.pc.worn[r.i].c.length()
	}
	return sum
}

func sideWords(side []sewnRef) string {
	var out []string
	for _, r := range side {
		w := r.pc.name + " " + r.pc.worn[r.i].name
		switch {
		case r.times == 2:
			w = "twice " + w
		case r.times > 2:
			w = num(r.times) + " times " + w
		}
		out = append(out, w)
	}
	return strings.Join(out, " + ")
}

// orGathered adds the other thing that may be meant where the first side is much the longer.
func orGathered(la, lb float64) string {
	if la < 1.1*lb {
		return ""
	}
	return "; or say gathered"
}

// longer writes a difference as a seam states it.
func (e *sewing) longer(by float64) string {
	if by < 0 {
		return e.say(-by) + " shorter"
	}
	return e.say(by) + " longer"
}

// easeMostOf is the share of a seam past which a difference is no ease: woven cloth takes in 5 to 10 per
// cent at a sleeve's cap, elsewhere less (common practice).
const easeMostOf = 0.2

func (e *sewing) compareSeam(s *sentence, a, b []sewnRef, la, lb, ease, tolerance float64) bool {
	off := (lb - la - ease) * e.unitMM
	limit := seamMost
	fine := seamFine
	if tolerance > 0 {
		limit, fine = tolerance, tolerance
	}
	if math.Abs(off) <= fine {
		return true
	}
	long, short := sideWords(b), sideWords(a)
	if off < 0 {
		long, short = short, long
	}
	text := fmt.Sprintf("%s (%s) is sewn to %s (%s)", sideWords(a), e.say(la), sideWords(b), e.say(lb))
	if ease != 0 {
		text += ", " + e.longer(ease)
	}
	text += fmt.Sprintf(": %s is %s longer than %s takes", long, e.say(math.Abs(off)/e.unitMM), short)
	sev := pattern.Warning
	if math.Abs(off) > limit {
		sev = pattern.Error
	}
	mend := "true the two edges to one length, or state the ease that is meant: " + e.longer(lb-la) + orGathered(la, lb)
	switch by := math.Abs(lb - la); {
	case by*e.unitMM <= fine:
		mend = "the two are of one length: draw the ease into one of them, or take it out here"
	case by/math.Max(la, lb) > easeMostOf: // nobody means that
		mend = "look at the shape of the two edges, and at the measures behind them" + orGathered(la, lb)
	}
	f := e.note(s, pattern.RuleSeamLengths, sev, text, mend)
	f.Piece, f.Edge = b[0].pc.name, b[0].pc.worn[b[0].i].name
	f.Index = e.indexOf(b[0].pc)
	f.At = pattern.Place(e.mm(b[0].pc.edges[b[0].i].c.start()))
	return false
}

// bothHands refuses seams for which pieces are missing: one that is sewn to its like is cut twice,
// and one that is sewn to a left and a right side is a pair.
func (e *sewing) bothHands(s *sentence, a, b []sewnRef) bool {
	good := true
	tell := func(pc *piece, text, mend string) {
		good = false
		for _, f := range e.findings {
			if f.Rule == pattern.RuleQuantityMissing && f.Piece == pc.name {
				return // once is enough
			}
		}
		f := e.note(s, pattern.RuleQuantityMissing, pattern.Error, text, mend)
		f.Piece, f.Index = pc.name, e.indexOf(pc)
	}
	if len(a) == 1 && len(b) == 1 && a[0].pc == b[0].pc && a[0].i == b[0].i && a[0].pc.quantity < 2 {
		tell(a[0].pc, fmt.Sprintf("%q is sewn to another of its kind, and only one is cut: the seam has one side", a[0].pc.name), "say cut 2")
		return false
	}
	for _, two := range [][2][]sewnRef{{a, b}, {b, a}} {
		for _, r := range two[0] {
			if r.pc.pair || r.pc.onFold || r.pc.quantity < 2 || r.pc.d == nil {
				continue
			}
			for _, o := range two[1] {
				if o.pc.onFold || o.pc.pair {
					tell(r.pc, fmt.Sprintf("%d of %q are cut alike and none is mirrored, and it is sewn to a left and a right side of %q", r.pc.quantity, r.pc.name, o.pc.name),
						"say cut 2, a pair")
					break
				}
			}
		}
	}
	return good
}

// compareLengths is the same for two lengths of one piece.
func (e *garment) compareLengths(s *sentence, pc *piece, what string, a, b, ease float64) {
	off := math.Abs(b-a-ease) * e.unitMM
	if off <= seamFine {
		return
	}
	sev := pattern.Warning
	if off > seamMost {
		sev = pattern.Error
	}
	f := e.note(s, pattern.RuleSeamLengths, sev, fmt.Sprintf("%s are %s and %s: %s apart", what, e.say(a), e.say(b), e.say(math.Abs(b-a))), "make both one length")
	f.Piece, f.Index = pc.name, e.indexOf(pc)
}

func (e *garment) indexOf(pc *piece) int {
	for i, q := range e.pieces {
		if q == pc {
			return i
		}
	}
	return -1
}
