package measured

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// dartTold is what a dart's sentence says: where it is drawn, and where shares of it are moved.
type dartTold struct {
	name    string
	s       *sentence
	a, p, b orb.Point
	cap     int // the edge that closes the mouth
	// edge is where a dart stands that has no cap of its own, from and to how far along it.
	edge     int
	from, to float64
	about    orb.Point
	moves    []dartMove
	short    float64 // how far short of the apex the moved darts end
	folded   string  // to which side they are pressed
	trued    bool    // the edge beside it is made to run on across it
	parser   *parser
}

// dartMove is a share of a dart swung about the apex to another place of the outline.
type dartMove struct {
	share float64
	edge  string
	l     float64 // along that edge as drawn
	into  string  // another dart, which it makes wider
	as    string  // gathers, ease or flare; nothing for a dart
}

// Ease that one place of an edge can hold, in mm: common practice.
const dartEaseMost = 10.0

var dartWords = []string{"moved to", "half moved to", "about", "ending", "folded", "trued"}

// readDart reads "E1 to P to E2, half moved to side at K, about X, ending 2 short, folded down".
func (d *drawing) readDart(x entry) dartTold {
	if isAtEdge(x) {
		return d.readEdgeDart(x)
	}
	p := newParser(x.s, d.sc)
	t := dartTold{name: x.key, s: x.s, cap: -1, parser: p}
	if _, ok := p.name(d.sc.names(isPoint)); !ok {
		p.fail(0, p.seen()+" is not how a dart is told", "say leg to point to leg, E1 to P to E2, and then where it is moved; from an edge: at D, takes 2, 9 long; inside the piece: at W, takes 3, 15 up and 12 down")
	}
	p.i = 0
	t.a = p.point()
	p.want("to", " and the dart's point")
	t.p = p.point()
	p.want("to", " and the dart's other leg")
	t.b = p.point()
	tol := d.sc.eng.hair()
	near := func(a, b orb.Point) bool { return geom.Dist(a, b) <= tol }
	for i, ed := range d.edges {
		s, f := ed.c.start(), ed.c.end()
		if near(s, t.b) && near(f, t.a) {
			t.a, t.b = t.b, t.a
		}
		if near(s, t.a) && near(f, t.b) {
			t.cap = i
		}
	}
	if t.cap < 0 {
		p.fail(0, "no edge of the outline closes the mouth of the dart, from "+spot(t.a)+" to "+spot(t.b), d.mendMouth(t.a, t.b))
	}
	t.about = t.p
	for p.sign(',') {
		d.dartClause(p, &t)
	}
	p.end()
	d.soundDart(p, t)
	return t
}

func (d *drawing) dartClause(p *parser, t *dartTold) {
	p.space()
	begin := p.i
	share := 1.0
	if p.is("moved to") < 0 && p.is("about") < 0 && p.is("ending") < 0 && p.is("folded") < 0 && p.is("trued") < 0 {
		switch {
		case p.take("half"):
			share = 0.5
		case p.i < len(p.s.text) && !wordRune(p.s.text[p.i]), p.word() != "" && p.word()[0] >= '0' && p.word()[0] <= '9':
			share = p.sum()
		default:
			p.fail(begin, p.seen()+" is not said of a dart", nearest(firstWords(p.phrase(), 2), dartWords))
		}
		if p.is("moved to") < 0 {
			p.fail(p.i, p.seen()+" is not said of a share of a dart", "say moved to, and the edge")
		}
	}
	switch p.takeAny("moved to", "about", "ending", "folded", "trued") {
	case "moved to":
		if share <= 0 || share > 1 {
			p.fail(begin, num(share)+" of a dart cannot be moved", "say half, 1/3, or nothing for the whole")
		}
		t.moves = append(t.moves, d.readMove(p, t, share))
	case "about":
		t.about = p.point()
	case "ending":
		t.short = p.sum()
		p.want("short", " and how far before the apex the dart ends")
		if t.short < 0 {
			p.fail(begin, "a dart cannot end "+num(t.short)+" short of its apex", "say 0 or more")
		}
	case "trued":
		t.trued = true
	case "folded":
		if t.folded = p.takeAny("out", "back", "up", "down"); t.folded == "" {
			p.fail(p.i, "to which side the dart is folded is not said", "say out, back, up or down")
		}
	}
}

// readMove reads "side at K", "neck at K, as gathers" and "dart at the side", the name of another dart.
func (d *drawing) readMove(p *parser, t *dartTold, share float64) dartMove {
	m := dartMove{share: share}
	var others []string
	for _, x := range d.shapes {
		if isDartKey(x.key) && x.key != t.name && !isInside(x) {
			others = append(others, x.key)
		}
	}
	if n, ok := p.name(others); ok {
		m.into = n
		return m
	}
	i := d.edgeNamed(p)
	m.edge = d.edges[i].name
	p.want("at", " and the point of that edge to which the dart is moved")
	at := p.i
	q := p.point()
	m.l = nearestOn(d.edges[i].c, q)
	if m.l < 0 || i == t.cap {
		p.fail(at, spot(q)+" does not lie on the edge "+quote(m.edge), "name a point along that edge")
	}
	if p.take("as") {
		if m.as = p.takeAny("gathers", "ease", "flare"); m.as == "" {
			p.fail(p.i, "as what a dart is left is not said", "say as gathers, as ease or as flare; a dart needs no word")
		}
	}
	return m
}

func firstWords(s string, n int) string {
	f := strings.Fields(s)
	return strings.Join(f[:min(n, len(f))], " ")
}

// soundDart refuses a move that geometry does not allow.
func (d *drawing) soundDart(p *parser, t dartTold) {
	if len(t.moves) == 0 {
		return
	}
	sum := 0.0
	for _, m := range t.moves {
		sum += m.share
	}
	if sum > 1+1e-9 {
		p.fail(0, "more of the dart is moved than there is: the shares add to "+num(sum), "shares add to 1 at most")
	}
	ra, rb := geom.Dist(t.about, t.a), geom.Dist(t.about, t.b)
	if math.Abs(ra-rb) > d.sc.eng.hair()*10 {
		p.fail(0, fmt.Sprintf("the dart's legs end %s and %s from the point about which it is moved", num(ra), num(rb)), "tell the end of one leg by the other: from P toward E2 distance P to E1, where P is the dart's point")
	}
}

// mendMouth says how a mouth comes by its cap. An edge drawn in one from seam to seam runs through
// both ends of the mouth: it is to be broken there, which the name of the edge makes plain.
func (d *drawing) mendMouth(a, b orb.Point) string {
	tol := d.sc.eng.hair()
	for _, ed := range d.edges {
		if ed.c.runsThrough(a, tol) && ed.c.runsThrough(b, tol) {
			return quote(ed.name) + " runs through both ends of the mouth: end it at the first, draw the cap between the two as an edge of its own, go on from the second with a third edge, and name all three in the outline"
		}
	}
	return "draw the cap as an edge between the two and name it in the outline"
}

// runsThrough sees joints, and points on straight stretches, where the ends of a mouth are told.
func (c curve) runsThrough(p orb.Point, tol float64) bool {
	for _, s := range c {
		there, on := geom.Dist(s.a, p), geom.Dist(p, s.b)
		if there <= tol || on <= tol || there+on-s.length() <= 1e-3*tol {
			return true
		}
	}
	return false
}
