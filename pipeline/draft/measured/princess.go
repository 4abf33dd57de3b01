package measured

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
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
	top, bottom  int     // the edges in which it begins and ends
	lTop, lBot   float64 // where, along them
	x            orb.Point
	takeT, takeB float64
	ease         float64
	above, below float64
	pointed      bool
	parser       *parser
}

// panel is what a princess seam leaves on one side of it.
type panel struct {
	d     *drawing
	seam  int // the princess among its edges
	marks [2]float64
}

// isPrincess tells a princess seam from an edge that is only called so.
func isPrincess(x entry) bool {
	if x.key != "princess" || x.s == nil {
		return false
	}
	p := &parser{s: x.s}
	return p.is("line half the") >= 0 || p.is("line from") >= 0
}

// readPrincess reads "line half the shoulder, through X, plumb to the waist, takes 2.5 at shoulder, 3
// at waist, eased 0.4 on the side panel from 5 above X to 5 below". Other forms of its ends are
// "line from shoulder at M" and "to waist at W".
func (d *drawing) readPrincess() princess {
	p := &parser{s: d.princess.s, sc: d.sc}
	w := princess{s: d.princess.s, parser: p}
	w.above = bustNotchAway / d.sc.eng.unitMM
	w.below = w.above
	p.want("line", "")
	if p.take("half the") {
		w.top = d.edgeNamed(p)
		w.lTop = d.edges[w.top].c.length() / 2
	} else {
		p.want("from", " or half the, and the edge in which the seam begins")
		w.top, w.lTop = d.spotOn(p)
	}
	p.sign(',')
	p.want("through", " and the bust point")
	w.x = p.point()
	p.sign(',')
	if p.take("plumb to") {
		p.take("the")
		at := p.i
		w.bottom = d.edgeNamed(p)
		c := d.edges[w.bottom].c
		ps := c.meets(w.x, orb.Point{0, 1})
		if len(ps) != 1 {
			p.fail(at, fmt.Sprintf("the plumb line through %s meets the edge %q %d times", spot(w.x), d.edges[w.bottom].name, len(ps)), "say to, the edge, at and a point of it")
		}
		w.lBot = c[:ps[0].i].length() + c[ps[0].i].part(0, ps[0].t).length()
	} else {
		p.want("to", " or plumb to, and the edge in which the seam ends")
		w.bottom, w.lBot = d.spotOn(p)
	}
	if w.top == w.bottom {
		p.fail(0, "the seam begins and ends in one edge, "+quote(d.edges[w.top].name), "let it end in another")
	}
	for p.sign(',') {
		d.princessClause(p, &w)
	}
	p.end()
	return w
}

// spotOn reads "shoulder at M".
func (d *drawing) spotOn(p *parser) (int, float64) {
	i := d.edgeNamed(p)
	p.want("at", " and the point of that edge")
	at := p.i
	q := p.point()
	l := nearestOn(d.edges[i].c, q)
	if l < 0 {
		p.fail(at, spot(q)+" does not lie on the edge "+quote(d.edges[i].name), "name a point along that edge")
	}
	return i, l
}

var princessWords = []string{"takes", "eased", "pointed"}

func (d *drawing) princessClause(p *parser, w *princess) {
	p.space()
	begin := p.i
	switch p.takeAny(princessWords...) {
	case "eased":
		w.ease = p.sum()
		p.take("on the side panel")
		p.want("from", " and how far above the bust point the ease begins")
		w.above = p.sum()
		p.want("above", "")
		at := p.i
		if q := p.point(); geom.Dist(q, w.x) > d.sc.eng.hair() {
			p.fail(at, "the ease lies about the point through which the seam runs", "")
		}
		p.want("to", " and how far below it the ease ends")
		w.below = p.sum()
		p.want("below", "")
		if mm := w.ease * d.sc.eng.unitMM; mm < 0 || mm > bustEaseMost {
			p.fail(begin, fmt.Sprintf("%s mm of ease over the bust: 3 to 6 are usual, and more than %s is not sewn without a pucker", num(mm), num(bustEaseMost)), "ease less")
		}
		return
	case "pointed":
		w.pointed = true
		return
	case "":
		if r := p.word(); r == "" || r[0] < '0' || r[0] > '9' {
			p.fail(begin, p.seen()+" is not said of a princess seam", nearest(r, princessWords))
		}
	}
	v := p.sum()
	p.want("at", " and the edge at which so much is taken")
	switch at := p.i; d.edgeNamed(p) {
	case w.top:
		w.takeT = v
	case w.bottom:
		w.takeB = v
	default:
		p.fail(at, "the seam does not reach that edge", "it runs from "+quote(d.edges[w.top].name)+" to "+quote(d.edges[w.bottom].name))
	}
	if v < 0 {
		p.fail(begin, "a princess seam cannot take "+num(v), "say 0 or more")
	}
}

// divide makes the two panels. What each leg takes is halved between them; legs are made equal by
// carrying the shorter on, and the edges they end in are trued to run on across the seam.
func (d *drawing) divide() [2]panel {
	if d.panels != nil {
		return *d.panels
	}
	w := d.readPrincess()
	n := len(d.edges)
	t1, t2 := w.cut(d, w.top, w.lTop, w.takeT)
	b1, b2 := w.cut(d, w.bottom, w.lBot, w.takeB)
	w.join(d, &t1, &t2)
	w.join(d, &b2, &b1)
	// One panel runs from the top's second part to the bottom's first, the other closes the ring.
	one, two := []outlineEdge{named(d.edges[w.top], t2)}, []outlineEdge{named(d.edges[w.bottom], b2)}
	for i := (w.top + 1) % n; i != w.bottom; i = (i + 1) % n {
		one = append(one, d.edges[i])
	}
	one = append(one, named(d.edges[w.bottom], b1.reversed()))
	for i := (w.bottom + 1) % n; i != w.top; i = (i + 1) % n {
		two = append(two, d.edges[i])
	}
	two = append(two, named(d.edges[w.top], t1.reversed()))
	seam := outlineEdge{name: "princess", line: w.s.lines[0], col: w.s.cols[0]}
	legs := func(up, down orb.Point) curve { return curve{lineSeg(up, w.x), lineSeg(w.x, down)} }
	s1, s2 := seam, seam
	s1.c, s2.c = legs(t2.start(), b1.start()).reversed(), legs(t1.start(), b2.start())
	side := farther(one, two)
	if side == 0 {
		s1.c = w.eased(d, s1.c.reversed(), one).reversed()
	} else {
		s2.c = w.eased(d, s2.c, two)
	}
	ps := [2]panel{w.panel(d, append(one, s1)), w.panel(d, append(two, s2))}
	d.panels = &ps
	return ps
}

func named(ed outlineEdge, c curve) outlineEdge { ed.c = c; return ed }

// cut divides an edge at a place, taking so much out; both parts run away from the seam.
func (w princess) cut(d *drawing, i int, l, take float64) (before, after curve) {
	c := d.edges[i].c
	if l-take/2 < 1e-6 || l+take/2 > c.length()-1e-6 {
		w.parser.fail(0, fmt.Sprintf("%s taken at %s runs past the end of the edge %q, which is %s long", num(take), num(l), d.edges[i].name, num(c.length())), "take less, or let the seam begin further in")
	}
	if d.edges[i].fold {
		w.parser.fail(0, "the seam cannot end in the fold", "let it end in another edge")
	}
	return c.between(place{0, 0}, c.placeAt(l-take/2)).reversed(), c.between(c.placeAt(l+take/2), place{len(c) - 1, 1})
}

// join makes the legs to two cut edges equal, and the edges run on into one another when sewn.
func (w princess) join(d *drawing, a, b *curve) {
	long := math.Max(geom.Dist(w.x, a.start()), geom.Dist(w.x, b.start()))
	ends, ways := [2]orb.Point{}, [2]orb.Point{}
	sum := 0.0
	for k, c := range []*curve{a, b} {
		leg := geom.Unit(geom.Sub(c.start(), w.x))
		ends[k] = geom.Add(w.x, geom.Mul(leg, long))
		ways[k] = (*c)[0].dir(0)
		if s := (*c)[0]; !s.cubic && !s.isArc() {
			ways[k] = geom.Unit(geom.Sub(s.b, ends[k]))
		}
		sum += math.Abs(math.Atan2(geom.Cross(ways[k], geom.Mul(leg, -1)), geom.Dot(ways[k], geom.Mul(leg, -1))))
	}
	over := (sum - math.Pi) / 2
	if w.pointed {
		over = 0
	}
	for k, c := range []*curve{a, b} {
		s := (*c)[0]
		if math.Abs(over) < 1e-9 && geom.Dist(ends[k], s.a) < 1e-9 {
			continue
		}
		turn := over * sign(geom.Cross(ways[k], geom.Sub(w.x, ends[k])))
		way := geom.Rotate(turn).Vector(ways[k])
		far := s.dir(1)
		if !s.cubic && !s.isArc() {
			far = ways[k]
		}
		(*c)[0] = pulled(ends[k], s.b, way, far, geom.Dist(ends[k], s.b)*armShare(way, far))
	}
}

// farther is which of the two panels is the side panel: the one without the fold, or that lies
// farther from the centre.
func farther(one, two []outlineEdge) int {
	out := [2]float64{}
	for k, edges := range [][]outlineEdge{one, two} {
		for _, ed := range edges {
			if ed.fold {
				return 1 - k
			}
			out[k] += ed.c.start()[0] / float64(len(edges))
		}
	}
	if out[0] > out[1] {
		return 0
	}
	return 1
}

// eased bends the seam of the side panel between its notches so that it is longer by the ease. The
// fullness sits at the bust point, where the edge stands along the chord between the notches.
func (w princess) eased(d *drawing, legs curve, edges []outlineEdge) curve {
	up, down := legs[0].length(), legs[1].length()
	if w.ease == 0 {
		return legs
	}
	if w.above <= 0 || w.below <= 0 || w.above >= up || w.below >= down {
		w.parser.fail(0, fmt.Sprintf("the ease runs from %s above to %s below, and the seam is %s long above and %s below", num(w.above), num(w.below), num(up), num(down)), "ease it nearer to the bust point")
	}
	a, b := geom.Lerp(w.x, legs.start(), w.above/up), geom.Lerp(w.x, legs.end(), w.below/down)
	along := geom.Unit(geom.Sub(b, a))
	n := geom.Left(along)
	var mid orb.Point
	for _, ed := range edges {
		mid = geom.Add(mid, geom.Mul(ed.c.start(), 1/float64(len(edges))))
	}
	if geom.Dot(n, geom.Sub(mid, w.x)) > 0 {
		n = geom.Mul(n, -1)
	}
	bend := func(by float64) curve {
		x := geom.Add(w.x, geom.Mul(n, by))
		return curve{
			pulled(a, x, legs[0].dir(0), along, geom.Dist(a, x)/3),
			pulled(x, b, along, legs[1].dir(0), geom.Dist(x, b)/3),
		}
	}
	want := w.above + w.below + w.ease
	lo, hi := -math.Abs(geom.Cross(along, geom.Sub(w.x, a))), w.above+w.below
	for range 200 {
		if m := (lo + hi) / 2; bend(m).length() < want {
			lo = m
		} else {
			hi = m
		}
	}
	out := append(curve{lineSeg(legs.start(), a)}, bend((lo+hi)/2)...)
	return append(out, lineSeg(b, legs.end()))
}

// panel is a drawing of its own, with what of pleats lies in it.
func (w princess) panel(d *drawing, edges []outlineEdge) panel {
	p := &drawing{name: d.name, sc: d.sc, outline: d.outline, edges: edges, state: 2, part: true, princessAt: w.x}
	fold := false
	for _, ed := range edges {
		fold = fold || ed.fold
	}
	for _, x := range d.pleats {
		if onFold := x.s != nil && (&parser{s: x.s}).foldAhead(); onFold && fold || !onFold && p.crossedBy(x) {
			p.pleats = append(p.pleats, x)
		}
	}
	if len(d.darts) > 0 {
		w.parser.fail(0, "a drawing with a princess seam keeps no dart beside it", "let the seam take what the dart takes, or draw the darted part by itself")
	}
	return panel{d: p, seam: len(edges) - 1, marks: [2]float64{w.above, w.below}}
}

// crossedBy tells whether a pleat of the whole drawing lies in this part of it.
func (d *drawing) crossedBy(x entry) bool {
	before := len(d.sc.eng.faults)
	ok := d.sc.eng.try(func() {
		pl := d.readPleat(x)
		for _, i := range []int{pl.e1, pl.e2} {
			if len(d.edges[i].c.meets(pl.l.p, pl.l.u)) == 0 {
				panic(blocked{})
			}
		}
	})
	d.sc.eng.faults = d.sc.eng.faults[:before] // the other part reads it too, or the seam runs through it
	return ok
}

// notches sets one above the bust point and two below it, measured from the seam's ends, so that they
// meet on both panels and neither can be sewn upside down.
func (pn panel) notches(pc *piece) {
	c := pc.worn[pn.seam].c
	e := pc.sc.eng
	up, down := c.start(), c.end()
	x := pn.d.princessAt
	gap := 8 / e.unitMM // as of any double notch
	fromTop, fromEnd := geom.Dist(up, x)-pn.marks[0], geom.Dist(down, x)-pn.marks[1]
	if up[1] > down[1] {
		fromTop, fromEnd = geom.Dist(down, x)-pn.marks[0], geom.Dist(up, x)-pn.marks[1]
	}
	set := func(l float64, top bool) {
		if l <= 0 {
			return
		}
		if top == (up[1] > down[1]) {
			l = c.length() - l
		}
		pc.notches = append(pc.notches, notchAt{at: pc.place(pn.seam, l), edge: pn.seam, kind: pattern.NotchNick, worn: l})
	}
	set(fromTop, true)
	set(fromEnd, false)
	set(fromEnd-gap, false)
}
