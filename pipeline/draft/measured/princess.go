package measured

import (
	"fmt"
	"sort"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// Limits of ease over the bust, in mm: 3 to 6 are usual, over 10 is an error; the notches that hold it
// stand about 50 above and below the apex (common practice).
const (
	bustEaseMost  = 10.0
	bustNotchAway = 50.0
)

// princess is a seam through the bust point, told in one line, which divides a drawing in two.
type princess struct {
	s            *sentence
	top, bottom  seamEnd
	x            orb.Point
	curved       bool // the upper part, which then leaves its edge square
	levels       []level
	ease         float64
	above, below float64
	pointed      bool
	parser       *parser
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

// isPrincess tells a princess seam from an edge that is only called so.
func isPrincess(x entry) bool {
	if x.key != "princess" || x.s == nil {
		return false
	}
	p := &cursor{s: x.s}
	for _, begin := range []string{"line half the", "line from", "curve half the", "curve from", "through", "from"} {
		if p.is(begin) >= 0 {
			return true
		}
	}
	return strings.Contains(string(x.s.text), " takes ")
}

// readPrincess reads "line half the shoulder, through X, plumb to the waist, takes 2.5 at shoulder, 3
// at waist, eased 0.4 on the side panel from 5 above X to 5 below". Other forms of its ends are
// "curve from armhole at B", "to waist at W" and "to dart waist", where the seam takes a dart's place.
func (d *drawing) readPrincess() princess {
	s := d.shaped()
	p := newParser(d.princess.s, d.sc)
	w := princess{s: d.princess.s, parser: p}
	w.above = bustNotchAway / d.sc.eng.unitMM
	w.below = w.above
	verb := p.takeAny("line", "curve")
	if verb == "" {
		p.fail(p.i, p.seen()+" begins no princess seam", "say line half the shoulder, through X, plumb to the waist; or line from shoulder at M, through X, to waist at D")
	}
	w.curved = verb == "curve"
	if p.take("half the") {
		i := d.edgeNamed(p)
		w.top = s.seamAt(p, p.i, i, d.edges[i].c.length()/2)
	} else {
		p.want("from", " or half the, and the edge in which the seam begins")
		w.top = s.spotOn(p)
	}
	p.sign(',')
	p.want("through", " and the bust point")
	said := p.point()
	w.x = carry(s.stages, said)
	p.sign(',')
	if p.take("plumb to") {
		p.take("the")
		w.bottom = s.plumbTo(p, w.x)
	} else {
		p.want("to", " or plumb to, and the edge in which the seam ends")
		w.bottom = s.spotOn(p)
	}
	if w.top.edge == w.bottom.edge {
		p.fail(0, "the seam begins and ends in one edge, "+quote(w.top.name), "let it end in another")
	}
	for p.sign(',') || p.take("and") {
		s.princessClause(p, &w, said)
	}
	p.end()
	sort.SliceStable(w.levels, func(i, j int) bool { return w.levels[i].s < w.levels[j].s })
	return w
}

// seamAt is the end of the seam at a length along an edge as drawn.
func (s *shaping) seamAt(p *parser, at, drawn int, l float64) seamEnd {
	name := s.d.edges[drawn].name
	i := indexOf(s.edges, name)
	if i < 0 || s.edges[i].c.cloth() == 0 {
		p.fail(at, quote(name)+" is the mouth of a dart", "name the dart, or another edge")
	}
	return seamEnd{edge: i, name: name, l: l, dart: -1}
}

// plumbTo is where the plumb line through a point meets the edge that comes next.
func (s *shaping) plumbTo(p *parser, x orb.Point) seamEnd {
	at := p.i
	drawn := s.d.edgeNamed(p)
	end := s.seamAt(p, at, drawn, 0)
	c := s.edges[end.edge].c
	ps := c.meets(x, orb.Point{0, 1})
	if len(ps) != 1 {
		p.fail(at, fmt.Sprintf("the plumb line through %s meets the edge %q %d times", spot(x), end.name, len(ps)), "say to, the edge, at and a point of it")
	}
	if m := c[ps[0].i].mouth; m != 0 {
		p.fail(at, "the plumb line through "+spot(x)+" runs into the "+s.mouths[m-1].name, "say to "+s.mouths[m-1].name)
	}
	end.l = c[:ps[0].i].cloth() + c[ps[0].i].part(0, ps[0].t).length()
	return end
}

// spotOn reads "shoulder at M", or the name of a dart.
func (s *shaping) spotOn(p *parser) seamEnd {
	p.space()
	begin := p.i
	var darts []string
	for _, m := range s.mouths {
		darts = append(darts, m.name)
	}
	if n, ok := p.name(darts); ok {
		return s.dartEnd(p, begin, n)
	}
	i := s.d.edgeNamed(p)
	p.want("at", " and the point of that edge")
	at := p.i
	q := p.point()
	l := nearestOn(s.d.edges[i].c, q)
	if l < 0 {
		p.fail(at, spot(q)+" does not lie on the edge "+quote(s.d.edges[i].name), "name a point along that edge")
	}
	return s.seamAt(p, begin, i, l)
}

// dartEnd is the mouth of a dart whose place the seam takes: where it is drawn, or where all of it went.
func (s *shaping) dartEnd(p *parser, at int, name string) seamEnd {
	end := seamEnd{edge: -1, dart: -1}
	if own := s.mouthOf(name); s.mouthEdge(own) >= 0 { // what of it stayed where it is drawn
		i := s.mouthEdge(own)
		return seamEnd{edge: i, name: s.edges[i].name, dart: own}
	}
	for i, ed := range s.edges {
		for _, g := range ed.c {
			if g.mouth == 0 || s.mouths[g.mouth-1].name != name || s.mouths[g.mouth-1].as != "" || g.mouth-1 == end.dart {
				continue
			}
			if end.dart >= 0 {
				p.fail(at, "the "+name+" lies in several places", "let the seam begin in one edge, at a point")
			}
			end = seamEnd{edge: i, name: ed.name, dart: g.mouth - 1}
		}
	}
	if end.dart < 0 {
		p.fail(at, "nothing is left of the "+name, "let the seam begin in an edge, at a point")
	}
	return end
}

var princessWords = []string{"takes", "eased", "pointed", "flared"}

func (s *shaping) princessClause(p *parser, w *princess, said orb.Point) {
	p.space()
	begin := p.i
	switch p.takeAny(princessWords...) {
	case "eased":
		w.readEase(p, said, s.d.sc.eng)
		return
	case "pointed":
		w.pointed = true
		return
	case "flared":
		v := p.sum()
		if p.takeAny("on each panel at", "each panel at") == "" {
			p.fail(p.i, "on which panel is flared is not said", "say flared "+num(v)+" on each panel at hem: both sides of the seam gain so much")
		}
		at := p.i
		if s.d.edges[s.d.edgeNamed(p)].name != w.bottom.name || w.bottom.dart >= 0 {
			p.fail(at, "the panels are flared where the seam ends below", "it ends in "+quote(w.bottom.name))
		}
		if v < 0 {
			p.fail(begin, "a flare of "+num(v), "say 0 or more")
		}
		w.bottom.take = -2 * v
		return
	case "":
		if r := p.word(); r == "" || r[0] < '0' || r[0] > '9' {
			p.fail(begin, p.seen()+" is not said of a princess seam", nearest(r, princessWords))
		}
	}
	v := p.sum()
	if v < 0 {
		p.fail(begin, "a princess seam cannot take "+num(v), "say 0 or more")
	}
	p.want("at", " and the edge, or the point at whose level, so much is taken")
	s.readTake(p, w, v)
}

// readTake reads where so much is taken: an end of the seam, or the level of a point below the bust.
func (s *shaping) readTake(p *parser, w *princess, v float64) {
	p.space()
	at := p.i
	var edges []string
	for _, ed := range s.d.edges {
		edges = append(edges, ed.name)
	}
	_, isEdge := p.name(edges)
	after := p.i
	p.i = at
	_, isPt := p.name(p.sc.names(isPoint))
	longer := p.i > after
	p.i = at
	if isPt && (!isEdge || longer) {
		w.levelAt(p, carry(s.stages, p.point()), v, at, s)
		return
	}
	name := s.d.edges[s.d.edgeNamed(p)].name
	for _, end := range []*seamEnd{&w.top, &w.bottom} {
		if end.name != name {
			continue
		}
		if end.dart >= 0 {
			p.fail(at, "the "+s.mouths[end.dart].name+" says how much is taken there", "leave it out here")
		}
		end.take = v
		return
	}
	p.fail(at, "the seam does not reach that edge", "it runs from "+quote(w.top.name)+" to "+quote(w.bottom.name)+"; say a point for a level between")
}

func (w *princess) readEase(p *parser, said orb.Point, e *engine) {
	begin := p.i
	w.ease = p.sum()
	p.take("on the side panel")
	p.want("from", " and how far above the bust point the ease begins")
	w.above = p.sum()
	p.want("above", "")
	at := p.i
	if q := p.point(); geom.Dist(q, said) > e.hair() {
		p.fail(at, "the ease lies about the point through which the seam runs", "")
	}
	p.want("to", " and how far below it the ease ends")
	w.below = p.sum()
	p.want("below", "")
	if mm := w.ease * e.unitMM; mm < 0 || mm > bustEaseMost {
		p.fail(begin, fmt.Sprintf("%s mm of ease over the bust: 3 to 6 are usual, and more than %s is not sewn without a pucker", num(mm), num(bustEaseMost)), "ease less")
	}
}

// levelAt keeps a level, as far below the bust point along the seam as its point lies.
func (w *princess) levelAt(p *parser, q orb.Point, take float64, at int, s *shaping) {
	end := s.middle(w.bottom)
	u := geom.Unit(geom.Sub(end, w.x))
	l := level{geom.Dot(geom.Sub(q, w.x), u), take}
	if hair := s.d.sc.eng.hair(); l.s <= hair || l.s >= geom.Dist(w.x, end)-hair {
		p.fail(at, fmt.Sprintf("the level of %s does not lie between the bust point %s and the seam's lower end %s", spot(q), spot(w.x), spot(end)), "name a point between them")
	}
	w.levels = append(w.levels, l)
}

// middle is where the seam's own line ends.
func (s *shaping) middle(end seamEnd) orb.Point {
	if end.dart >= 0 {
		a, b, _ := s.legs(end.dart)
		return geom.Lerp(a, b, 0.5)
	}
	c := s.edges[end.edge].c
	at := c.onCloth(end.l)
	return c[at.i].at(at.t)
}
