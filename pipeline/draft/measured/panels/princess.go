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

// princess is a seam through the bust point, told in one line, which divides a drawing in two.
type princess struct {
	s            *sentence.Sentence
	top, bottom  seamEnd
	x            orb.Point
	curved       bool // the upper part, which then leaves its edge square
	levels       []level
	ease         float64
	above, below float64
	pointed      bool
	parser       *tree.Parser
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

// readPrincess reads "line half the shoulder, through X, plumb to the waist, takes 2.5 at shoulder, 3
// at waist, eased 0.4 on the side panel from 5 above X to 5 below". Other forms of its ends are
// "curve from armhole at B", "to waist at W" and "to dart waist", where the seam takes a dart's place.
func readPrincess(d *drafting.Drawing) princess {
	s := darts.RingOf(d)
	p := tree.NewParser(d.PrincessEntry.Sentence, d.Scope)
	w := princess{s: d.PrincessEntry.Sentence, parser: p}
	w.above = bustNotchAway / d.Scope.Context.UnitMM
	w.below = w.above
	verb := p.TakeAny("line", "curve")
	if verb == "" {
		p.Fail(p.At, p.Seen()+" begins no princess seam", "say line half the shoulder, through X, plumb to the waist; or line from shoulder at M, through X, to waist at D")
	}
	w.curved = verb == "curve"
	if p.Take("half the") {
		i := darts.EdgeNamed(d, p)
		w.top = seamAt(s, p, p.At, i, d.Edges[i].Curve.Length()/2)
	} else {
		p.Want("from", " or half the, and the edge in which the seam begins")
		w.top = spotOn(s, p)
	}
	p.Sign(',')
	p.Want("through", " and the bust point")
	said := tree.Now(p, p.Point())
	w.x = darts.Carry(s.Stages, said)
	p.Sign(',')
	if p.Take("plumb to") {
		p.Take("the")
		w.bottom = plumbTo(s, p, w.x)
	} else {
		p.Want("to", " or plumb to, and the edge in which the seam ends")
		w.bottom = spotOn(s, p)
	}
	if w.top.edge == w.bottom.edge {
		p.Fail(0, "the seam begins and ends in one edge, "+sentence.Quote(w.top.name), "let it end in another")
	}
	for p.Sign(',') || p.Take("and") {
		princessClause(s, p, &w, said)
	}
	p.End()
	sort.SliceStable(w.levels, func(i, j int) bool { return w.levels[i].s < w.levels[j].s })
	return w
}

// seamAt is the end of the seam at a length along an edge as drawn.
func seamAt(s *darts.Ring, p *tree.Parser, at, drawn int, l float64) seamEnd {
	name := s.Drawing.Edges[drawn].Name
	i := curve.IndexOf(s.Edges, name)
	if i < 0 || darts.ClothLength(s.Edges[i].Curve) == 0 {
		p.Fail(at, sentence.Quote(name)+" is the mouth of a dart", "name the dart, or another edge")
	}
	return seamEnd{edge: i, name: name, l: l, dart: -1}
}

// plumbTo is where the plumb line through a point meets the edge that comes next.
func plumbTo(s *darts.Ring, p *tree.Parser, x orb.Point) seamEnd {
	at := p.At
	drawn := darts.EdgeNamed(s.Drawing, p)
	end := seamAt(s, p, at, drawn, 0)
	c := s.Edges[end.edge].Curve
	ps := c.Meets(x, orb.Point{0, 1})
	if len(ps) != 1 {
		p.Fail(at, fmt.Sprintf("the plumb line through %s meets the edge %q %d times", tree.FormatPoint(x), end.name, len(ps)), "say to, the edge, at and a point of it")
	}
	if m := c[ps[0].Index].Mouth; m != 0 {
		p.Fail(at, "the plumb line through "+tree.FormatPoint(x)+" runs into the "+s.Mouths[m-1].Name, "say to "+s.Mouths[m-1].Name)
	}
	end.l = darts.ClothLength(c[:ps[0].Index]) + c[ps[0].Index].Part(0, ps[0].T).Length()
	return end
}

// spotOn reads "shoulder at M", or the name of a dart.
func spotOn(s *darts.Ring, p *tree.Parser) seamEnd {
	p.Space()
	begin := p.At
	var names []string
	for _, m := range s.Mouths {
		names = append(names, m.Name)
	}
	if n, ok := p.Name(names); ok {
		return dartEnd(s, p, begin, n)
	}
	i := darts.EdgeNamed(s.Drawing, p)
	p.Want("at", " and the point of that edge")
	at := p.At
	q := tree.Now(p, p.Point())
	l := curve.NearestOn(s.Drawing.Edges[i].Curve, q)
	if l < 0 {
		p.Fail(at, tree.FormatPoint(q)+" does not lie on the edge "+sentence.Quote(s.Drawing.Edges[i].Name), "name a point along that edge")
	}
	return seamAt(s, p, begin, i, l)
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
				p.Fail(at, "the "+name+" lies in several places", "let the seam begin in one edge, at a point")
			}
			end = seamEnd{edge: i, name: ed.Name, dart: g.Mouth - 1}
		}
	}
	if end.dart < 0 {
		p.Fail(at, "nothing is left of the "+name, "let the seam begin in an edge, at a point")
	}
	return end
}

var princessWords = []string{"takes", "eased", "pointed", "flared"}

func princessClause(s *darts.Ring, p *tree.Parser, w *princess, said orb.Point) {
	p.Space()
	begin := p.At
	switch p.TakeAny(princessWords...) {
	case "eased":
		w.readEase(p, said, s.Drawing.Scope.Context)
		return
	case "pointed":
		w.pointed = true
		return
	case "flared":
		v := tree.Now(p, p.Sum())
		if p.TakeAny("on each panel at", "each panel at") == "" {
			p.Fail(p.At, "on which panel is flared is not said", "say flared "+sentence.FormatNumber(v)+" on each panel at hem: both sides of the seam gain so much")
		}
		at := p.At
		if s.Drawing.Edges[darts.EdgeNamed(s.Drawing, p)].Name != w.bottom.name || w.bottom.dart >= 0 {
			p.Fail(at, "the panels are flared where the seam ends below", "it ends in "+sentence.Quote(w.bottom.name))
		}
		if v < 0 {
			p.FailUnfit(begin, "a flare of "+sentence.FormatNumber(v), "say 0 or more")
		}
		w.bottom.take = -2 * v
		return
	case "":
		if !p.NumberAhead() {
			p.Fail(begin, p.Seen()+" is not said of a princess seam", sentence.Nearest(p.Word(), princessWords))
		}
	}
	v := tree.Now(p, p.Sum())
	if v < 0 {
		p.FailUnfit(begin, "a princess seam cannot take "+sentence.FormatNumber(v), "say 0 or more")
	}
	p.Want("at", " and the edge, or the point at whose level, so much is taken")
	readTake(s, p, w, v)
}

// readTake reads where so much is taken: an end of the seam, or the level of a point below the bust.
func readTake(s *darts.Ring, p *tree.Parser, w *princess, v float64) {
	p.Space()
	at := p.At
	var edges []string
	for _, ed := range s.Drawing.Edges {
		edges = append(edges, ed.Name)
	}
	_, isEdge := p.Name(edges)
	after := p.At
	p.At = at
	_, isPt := p.Name(p.Scope.Names(tree.PointKind))
	longer := p.At > after
	p.At = at
	if isPt && (!isEdge || longer) {
		w.levelAt(p, darts.Carry(s.Stages, tree.Now(p, p.Point())), v, at, s)
		return
	}
	name := s.Drawing.Edges[darts.EdgeNamed(s.Drawing, p)].Name
	for _, end := range []*seamEnd{&w.top, &w.bottom} {
		if end.name != name {
			continue
		}
		if end.dart >= 0 {
			p.Fail(at, "the "+s.Mouths[end.dart].Name+" says how much is taken there", "leave it out here")
		}
		end.take = v
		return
	}
	p.Fail(at, "the seam does not reach that edge", "it runs from "+sentence.Quote(w.top.name)+" to "+sentence.Quote(w.bottom.name)+"; say a point for a level between")
}

func (w *princess) readEase(p *tree.Parser, said orb.Point, e *tree.Context) {
	begin := p.At
	w.ease = tree.Now(p, p.Sum())
	p.Take("on the side panel")
	p.Want("from", " and how far above the bust point the ease begins")
	w.above = tree.Now(p, p.Sum())
	p.Want("above", "")
	at := p.At
	if q := tree.Now(p, p.Point()); geom.Dist(q, said) > e.Hair() {
		p.Fail(at, "the ease lies about the point through which the seam runs", "")
	}
	p.Want("to", " and how far below it the ease ends")
	w.below = tree.Now(p, p.Sum())
	p.Want("below", "")
	if mm := w.ease * e.UnitMM; mm < 0 || mm > bustEaseMost {
		p.Fail(begin, fmt.Sprintf("%s mm of ease over the bust: 3 to 6 are usual, and more than %s is not sewn without a pucker", sentence.FormatNumber(mm), sentence.FormatNumber(bustEaseMost)), "ease less")
	}
}

// levelAt keeps a level, as far below the bust point along the seam as its point lies.
func (w *princess) levelAt(p *tree.Parser, q orb.Point, take float64, at int, s *darts.Ring) {
	end := middleOf(s, w.bottom)
	u := geom.Unit(geom.Sub(end, w.x))
	l := level{geom.Dot(geom.Sub(q, w.x), u), take}
	if hair := s.Drawing.Scope.Context.Hair(); l.s <= hair || l.s >= geom.Dist(w.x, end)-hair {
		p.FailUnfit(at, fmt.Sprintf("the level of %s does not lie between the bust point %s and the seam's lower end %s", tree.FormatPoint(q), tree.FormatPoint(w.x), tree.FormatPoint(end)), "name a point between them")
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
