package panels

import (
	"fmt"
	"sort"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/darts"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// Limits of ease over the bust, in mm: 3 to 6 are usual, over 10 is an error; the notches that hold it
// stand about 50 above and below the apex (common practice).
const (
	bustEaseMost  = 10.0
	bustNotchAway = 50.0
)

// seamSentence is what the sentence of a princess seam says. Its parts are worked out for the drawing's ring.
type seamSentence struct {
	s       *sentence.Sentence
	parser  *tree.Parser
	curved  bool // the upper part, which then leaves its edge square
	pointed bool
	folded  bool   // stitched on whole cloth, and not cut
	press   string // the side to which the fold is pressed, "" for the usual one
	through tree.Point
	top     seamEndOf
	bottom  seamEndOf
	clauses []func(s *darts.Ring, w *princess)
	// easedAt and flaredAt are where those are said, 0 where they are not.
	easedAt, flaredAt int
}

// seamEndOf finds an end of the seam that runs through x.
type seamEndOf func(s *darts.Ring, x orb.Point) seamEnd

// princess is a seam through the bust point, which divides a drawing in two.
type princess struct {
	*seamSentence
	top, bottom        seamEnd
	x                  orb.Point
	levels             []level
	ease, above, below float64
}

// seamEnd is where the seam reaches the outline: a place of an edge, or the mouth of a dart.
type seamEnd struct {
	edge int
	name string
	l    float64
	take float64
	dart int // the mouth whose place the seam takes; -1 for none
}

// level is a place below the bust point at which so much is taken.
type level struct{ s, take float64 }

// Read reads the drawing's princess seam, once; nil where it has none or that cannot be read.
func Read(d *drafting.Drawing) *seamSentence {
	if w, ok := d.Princess.(*seamSentence); ok || d.PrincessEntry.Sentence == nil || d.Outline == nil {
		return w
	}
	var w *seamSentence
	if !d.Scope.Context.Try(func() { w = readPrincess(d) }) {
		w = nil
	}
	d.Princess = w
	return w
}

// readPrincess reads "line half the shoulder, through X, plumb to the waist, takes 2.5 at shoulder, 3
// at waist, eased 0.4 on the side panel from 5 above X to 5 below". Other forms of its ends are
// "curve from armhole at B", "to waist at W" and "to dart waist", where the seam takes a dart's place.
func readPrincess(d *drafting.Drawing) *seamSentence {
	p := tree.NewParser(d.PrincessEntry.Sentence, d.Scope)
	w := &seamSentence{s: d.PrincessEntry.Sentence, parser: p}
	verb := p.TakeAny("line", "curve")
	if verb == "" {
		p.Fail(p.At, p.Seen()+" begins no princess seam", "say line half the shoulder, through X, plumb to the waist; or line from shoulder at M, through X, to waist at D")
	}
	w.curved = verb == "curve"
	if p.Take("half the") {
		edge, at := d.EdgeNamed(p), p.At
		w.top = func(s *darts.Ring, _ orb.Point) seamEnd {
			return seamAt(s, p, at, edge, d.Edges[curve.IndexOf(d.Edges, edge)].Curve.Length()/2)
		}
	} else {
		p.Want("from", " or half the, and the edge in which the seam begins")
		w.top = spotOn(d, p)
	}
	p.Sign(',')
	p.Want("through", " and the bust point")
	w.through = p.Point()
	p.Sign(',')
	if p.Take("plumb to") {
		p.Take("the")
		w.bottom = plumbTo(d, p)
	} else {
		p.Want("to", " or plumb to, and the edge in which the seam ends")
		w.bottom = spotOn(d, p)
	}
	for nextClause(&p.Cursor) {
		w.readClause(d)
	}
	p.End()
	if w.folded {
		w.checkFolded()
	}
	return w
}

// workOut finds where the seam runs; nil where that is refused.
func (t *seamSentence) workOut(s *darts.Ring) *princess {
	e := s.Drawing.Scope.Context
	w := &princess{seamSentence: t, above: bustNotchAway / e.UnitMM, below: bustNotchAway / e.UnitMM}
	w.x = darts.Carry(s.Stages, t.through())
	if w.top = t.top(s, w.x); e.Blocked() {
		return nil
	}
	w.bottom = t.bottom(s, w.x)
	if w.top.edge == w.bottom.edge {
		t.parser.Refuse(0, "the seam begins and ends in one edge, "+sentence.Quote(w.top.name), "let it end in another")
	}
	for _, c := range t.clauses {
		if e.Blocked() {
			return nil
		}
		c(s, w)
	}
	if e.Blocked() {
		return nil
	}
	sort.SliceStable(w.levels, func(i, j int) bool { return w.levels[i].s < w.levels[j].s })
	return w
}

// seamAt is the end of the seam at a length along an edge as drawn.
func seamAt(s *darts.Ring, p *tree.Parser, at int, name string, l float64) seamEnd {
	i := curve.IndexOf(s.Edges, name)
	if i < 0 || darts.ClothLength(s.Edges[i].Curve) == 0 {
		p.Refuse(at, sentence.Quote(name)+" is the mouth of a dart", "name the dart, or another edge")
	}
	return seamEnd{edge: i, name: name, l: l, dart: -1}
}

// plumbTo reads the edge at which the plumb line through the bust point ends.
func plumbTo(d *drafting.Drawing, p *tree.Parser) seamEndOf {
	at := p.At
	edge := d.EdgeNamed(p)
	return func(s *darts.Ring, x orb.Point) seamEnd {
		end := seamAt(s, p, at, edge, 0)
		if s.Drawing.Scope.Context.Blocked() {
			return end
		}
		c := s.Edges[end.edge].Curve
		ps := c.Meets(x, orb.Point{0, 1})
		if len(ps) != 1 {
			p.Refuse(at, fmt.Sprintf("the plumb line through %s meets the edge %q %d times", p.Where(x), end.name, len(ps)), "say to, the edge, at and a point of it")
			return end
		}
		if m := c[ps[0].Index].Mouth; m != 0 {
			p.Refuse(at, "the plumb line through "+p.Where(x)+" runs into the "+s.Mouths[m-1].Name, "say to "+s.Mouths[m-1].Name)
		}
		end.l = darts.ClothLength(c[:ps[0].Index]) + c[ps[0].Index].Part(0, ps[0].T).Length()
		return end
	}
}

// spotOn reads "shoulder at M", or the name of a dart.
func spotOn(d *drafting.Drawing, p *tree.Parser) seamEndOf {
	p.Space()
	begin := p.At
	if n, ok := p.Name(darts.Names(d)); ok {
		return func(s *darts.Ring, _ orb.Point) seamEnd { return dartEnd(s, p, begin, n) }
	}
	edge := d.EdgeNamed(p)
	p.Want("at", " and the point of that edge")
	at := p.At
	point := p.Point()
	return func(s *darts.Ring, _ orb.Point) seamEnd {
		q := point()
		l := curve.NearestOn(d.Edges[curve.IndexOf(d.Edges, edge)].Curve, q)
		if l < 0 {
			p.Refuse(at, p.Where(q)+" does not lie on the edge "+sentence.Quote(edge), "name a point along that edge")
		}
		return seamAt(s, p, begin, edge, l)
	}
}

// dartEnd is the mouth of a dart whose place the seam takes: where it is drawn, or where all of it went.
func dartEnd(s *darts.Ring, p *tree.Parser, at int, name string) seamEnd {
	end := seamEnd{edge: -1, dart: -1}
	if own := s.MouthOf(name); s.MouthEdge(own) >= 0 { // what of it stayed where it is drawn
		i := s.MouthEdge(own)
		return seamEnd{edge: i, name: s.Edges[i].Name, dart: own}
	}
	for i, ed := range s.Edges {
		for _, g := range ed.Curve {
			if g.Mouth == 0 || s.Mouths[g.Mouth-1].Name != name || s.Mouths[g.Mouth-1].Fullness != "" || g.Mouth-1 == end.dart {
				continue
			}
			if end.dart >= 0 {
				p.Refuse(at, "the "+name+" lies in several places", "let the seam begin in one edge, at a point")
				return end
			}
			end = seamEnd{edge: i, name: ed.Name, dart: g.Mouth - 1}
		}
	}
	if end.dart < 0 {
		p.Refuse(at, "nothing is left of the "+name, "let the seam begin in an edge, at a point")
	}
	return end
}

// nextClause steps behind what parts two clauses of a princess seam's sentence.
func nextClause(p *sentence.Cursor) bool { return p.Sign(',') || p.Take("and") }

var princessWords = []string{"takes", "eased", "pointed", "flared", "folded"}

func (t *seamSentence) readClause(d *drafting.Drawing) {
	p := t.parser
	p.Space()
	begin := p.At
	var clause func(s *darts.Ring, w *princess)
	switch p.TakeAny(princessWords...) {
	case "eased":
		clause, t.easedAt = readEase(p), begin
	case "pointed":
		t.pointed = true
		return
	case "flared":
		clause, t.flaredAt = readFlared(d, p), begin
	case "folded":
		t.folded = true
		t.press = p.TakeAny("out", "back")
		return
	case "":
		if !p.NumberAhead() {
			p.Fail(begin, p.Seen()+" is not said of a princess seam", sentence.Nearest(p.Word(), princessWords))
		}
		fallthrough
	default:
		clause = readTake(d, p)
	}
	t.clauses = append(t.clauses, clause)
}

// readFlared reads "2 on each panel at hem": both sides of the seam gain so much.
func readFlared(d *drafting.Drawing, p *tree.Parser) func(s *darts.Ring, w *princess) {
	begin := p.At
	by := p.SumWhere(tree.AtLeast0, "a flare of %s", "say 0 or more")
	if said := p.Said(begin); p.TakeAny("on each panel at", "each panel at") == "" {
		p.Fail(p.At, "on which panel is flared is not said", "say flared "+said+" on each panel at hem: both sides of the seam gain so much")
	}
	at := p.At
	edge := d.EdgeNamed(p)
	return func(_ *darts.Ring, w *princess) {
		if edge != w.bottom.name || w.bottom.dart >= 0 {
			p.Refuse(at, "the panels are flared where the seam ends below", "it ends in "+sentence.Quote(w.bottom.name))
		}
		w.bottom.take = -2 * by()
	}
}

// readTake reads "2.5 at shoulder": how much is taken at an end of the seam, or at the level of a point below the bust.
func readTake(d *drafting.Drawing, p *tree.Parser) func(s *darts.Ring, w *princess) {
	take := p.SumWhere(tree.AtLeast0, "a princess seam cannot take %s", "say 0 or more")
	p.Want("at", " and the edge, or the point at whose level, so much is taken")
	p.Space()
	at := p.At
	_, isEdge := p.Name(d.EdgeNames())
	after := p.At
	p.At = at
	_, isPt := p.Named(tree.PointKind)
	longer := p.At > after
	p.At = at
	if isPt && (!isEdge || longer) {
		point := p.Point()
		return func(s *darts.Ring, w *princess) { w.levelAt(p, darts.Carry(s.Stages, point()), take(), at, s) }
	}
	name := d.EdgeNamed(p)
	return func(s *darts.Ring, w *princess) {
		for _, end := range []*seamEnd{&w.top, &w.bottom} {
			if end.name != name {
				continue
			}
			if end.dart >= 0 {
				p.Refuse(at, "the "+s.Mouths[end.dart].Name+" says how much is taken there", "leave it out here")
			}
			end.take = take()
			return
		}
		p.Refuse(at, "the seam does not reach that edge", "it runs from "+sentence.Quote(w.top.name)+" to "+sentence.Quote(w.bottom.name)+"; say a point for a level between")
	}
}

// readEase reads "0.4 on the side panel from 5 above X to 5 below".
func readEase(p *tree.Parser) func(s *darts.Ring, w *princess) {
	begin := p.At
	ease := p.Sum()
	p.Take("on the side panel")
	p.Want("from", " and how far above the bust point the ease begins")
	above := p.Sum()
	p.Want("above", "")
	at := p.At
	point := p.Point()
	p.Want("to", " and how far below it the ease ends")
	below := p.Sum()
	p.Want("below", "")
	return func(s *darts.Ring, w *princess) {
		e := s.Drawing.Scope.Context
		w.ease, w.above, w.below = ease(), above(), below()
		if geom.Dist(point(), w.through()) > e.Hair() {
			p.Refuse(at, "the ease lies about the point through which the seam runs", "")
		}
		if mm := w.ease * e.UnitMM; mm < 0 || mm > bustEaseMost {
			p.Refuse(begin, fmt.Sprintf("%s of ease over the bust: %s to %s are usual, and more than %s is not sewn without a pucker", e.WithUnit(w.ease),
				e.WithUnit(3/e.UnitMM), e.WithUnit(6/e.UnitMM), e.WithUnit(bustEaseMost/e.UnitMM)), "ease less")
		}
	}
}

// levelAt keeps a level, as far below the bust point along the seam as its point lies.
func (w *princess) levelAt(p *tree.Parser, q orb.Point, take float64, at int, s *darts.Ring) {
	end := middleOf(s, w.bottom)
	u := geom.Unit(geom.Sub(end, w.x))
	l := level{geom.Dot(geom.Sub(q, w.x), u), take}
	if hair := s.Drawing.Scope.Context.Hair(); l.s <= hair || l.s >= geom.Dist(w.x, end)-hair {
		p.Unfit(at, fmt.Sprintf("the level of %s does not lie between the bust point %s and the seam's lower end %s", p.Where(q), p.Where(w.x), p.Where(end)), "name a point between them")
	}
	w.levels = append(w.levels, l)
}

// middleOf is where the seam's own line ends.
func middleOf(s *darts.Ring, end seamEnd) orb.Point {
	if end.dart >= 0 {
		a, b, _ := s.Legs(end.dart)
		return geom.Lerp(a, b, 0.5)
	}
	c := s.Edges[end.edge].Curve
	at := darts.PlaceOnCloth(c, end.l)
	return c[at.Index].At(at.T)
}
