package measured

import (
	"fmt"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// isAtEdge tells a dart that is told by where it stands on an edge: "at D, takes 2, 9 long", or "to P".
func isAtEdge(x entry) bool {
	if x.s == nil || (&cursor{s: x.s}).is("at") < 0 {
		return false
	}
	to, and := false, false
	for p := (&cursor{s: x.s}); p.i < len(x.s.text); p.i++ {
		if p.i > 0 && wordRune(x.s.text[p.i-1]) {
			continue
		}
		switch {
		case p.is("long") >= 0:
			return true
		case p.is("to") >= 0:
			to = true
		case p.is("and") >= 0:
			and = true
		}
	}
	return to && !and
}

// readEdgeDart reads "at D, takes 2, 9 long", which runs square into the piece, and "at D, takes 2, to P",
// whose mouth stands where both legs are equal. What it takes is measured along the edge.
func (d *drawing) readEdgeDart(x entry) dartTold {
	p := newParser(x.s, d.sc)
	t := dartTold{name: x.key, s: x.s, cap: -1, parser: p}
	p.want("at", "")
	at := p.i
	c := p.point()
	t.edge = -1
	var l float64
	for i, ed := range d.edges {
		if s := nearestOn(ed.c, c); s >= 0 && !ed.fold {
			t.edge, l = i, s
		}
	}
	if t.edge < 0 {
		p.fail(at, spot(c)+" does not lie on an edge of the outline", "take it along the edge, along waist 9 from W; inside the piece a dart runs 15 up and 12 down")
	}
	take := p.dartTakes("at the edge")
	if p.take("to") {
		t.p = p.point()
		l = d.evenLegs(p, t, l, take)
	}
	edge := d.edges[t.edge]
	t.from, t.to = l-take/2, l+take/2
	if t.from <= 0 || t.to >= edge.c.length() {
		p.fail(at, fmt.Sprintf("the dart would reach past the end of the edge %q, which is %s long", edge.name, num(edge.c.length())), "move it along, or let it take less")
	}
	t.a, _ = edge.c.at(t.from)
	t.b, _ = edge.c.at(t.to)
	if t.p == (orb.Point{}) {
		begin := p.i
		long := p.sum()
		p.want("long", " and how long the dart is")
		if long <= 0 {
			p.fail(begin, "a dart cannot be "+num(long)+" long", "say more than 0")
		}
		square := geom.Mul(geom.Left(geom.Unit(geom.Sub(t.b, t.a))), long*ccw(d.edges))
		t.p = geom.Add(geom.Lerp(t.a, t.b, 0.5), square)
	}
	t.about = t.p
	for p.sign(',') {
		d.dartClause(p, &t)
	}
	p.end()
	if len(t.moves) > 0 {
		p.fail(0, "a dart that is moved is drawn", "draw it from leg to point to leg, E1 to P to E2, with its cap an edge of the outline")
	}
	d.holdsDart(p, t)
	return t
}

// evenLegs is where along the edge the middle of a mouth lies so that both its ends are equally far
// from the dart's point.
func (d *drawing) evenLegs(p *parser, t dartTold, l, take float64) float64 {
	c := d.edges[t.edge].c
	longer := func(l float64) float64 {
		a, _ := c.at(l - take/2)
		b, _ := c.at(l + take/2)
		return geom.Dist(b, t.p) - geom.Dist(a, t.p)
	}
	lo, hi := max(l-take/2, take/2), min(l+take/2, c.length()-take/2)
	if longer(lo) > 0 || longer(hi) < 0 {
		p.fail(0, "the dart leans so far that its legs cannot be made equal", "set its point nearer to square under its mouth")
	}
	for range 60 {
		if mid := (lo + hi) / 2; longer(mid) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// holdsDart refuses a dart whose legs leave the piece.
func (d *drawing) holdsDart(p *parser, t dartTold) {
	const inset = 0.2 // mm from the edge, so that the mouth itself does not count
	e := d.sc.eng
	line, _ := e.flattenTo(d.edges, 0.05)
	for _, leg := range []orb.Point{t.a, t.b} {
		from := geom.Lerp(leg, t.p, inset/e.unitMM/geom.Dist(leg, t.p))
		if !line.Contains(e.mm(t.p)) || len(geom.Crossings(geom.Path{Points: []orb.Point{e.mm(from), e.mm(t.p)}}, line)) > 0 {
			p.fail(0, "the dart runs out of the piece at its point "+spot(t.p), "make it shorter, or set its point inside")
		}
	}
}

// mouthInEdge makes the stretch of an edge that lies between a dart's legs the mouth of that number.
func (s *shaping) mouthInEdge(t *dartTold, number int) {
	c := s.edges[t.edge].c
	from, to := c.placeAt(t.from), c.placeAt(t.to)
	mouth := c.between(from, to)
	for _, g := range mouth {
		if g.mouth != 0 {
			t.parser.fail(0, "it overlaps the "+s.mouths[g.mouth-1].name, "lay the two apart")
		}
	}
	before, after := c.between(place{0, 0}, from), c.between(to, place{len(c) - 1, 1})
	s.edges[t.edge].c = append(append(before, mouth.marked(number)...), after...)
}
