package measured

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// turn is one fold of a pleat in the worn shape: the line through two points, where it crosses the
// two edges, and what is seen.
type turn struct {
	at, to orb.Point
	outer  bool
	name   string
	a, b   place // on the two edges
	flatA  orb.Point
	flatB  orb.Point
}

// opened is a drawing with its pleats opened: the outline that is cut.
type opened struct {
	edges []outlineEdge
	turns []turn
	// maps bring each layer from the worn shape to the flat cloth: the first lies as worn, each
	// fold mirrors what lies beyond it.
	maps []geom.Affine
	// seen are the layers that are seen when worn, with the line at which each begins.
	seen  []seenFrom
	ahead orb.Point // how the first edge runs
	e1    int
	e2    int
	lines []innerLine
	tacks []orb.Point
}

type seenFrom struct {
	layer  int
	at, to orb.Point
}

// innerLine is a line to be drawn inside the piece.
type innerLine struct {
	a, b orb.Point
	name string
	ends bool // nicks at its ends
}

func isPleatKey(k string) bool {
	w, _, _ := strings.Cut(k, " ")
	return w == "pleat" || w == "tuck"
}

func (d *drawing) setPleat(x entry) {
	for i := range d.pleats {
		if d.pleats[i].key == x.key {
			d.pleats[i] = x
			return
		}
	}
	d.pleats = append(d.pleats, x)
}

// pleat is what one sentence tells.
type pleat struct {
	name          string
	kind          string
	d1, d2        float64 // depth at either edge
	half          float64 // of a box's top
	out           bool    // a knife pleat that faces out
	onFold        bool
	l             locus
	e1, e2        int
	lo, hi        *locus
	overlap       bool
	stitchedFrom  int
	stitchedTo    *orb.Point
	s             *sentence
	turns         []turn
	first, second orb.Point // where its own line crosses the edges
}

// readPleat reads "inverted box, 4 deep, on the fold, neck to hem, stitched neck to W".
func (d *drawing) readPleat(x entry) pleat {
	p := &parser{s: x.s, sc: d.sc}
	pl := pleat{name: x.key, s: x.s, stitchedFrom: -1}
	pl.kind = p.takeAny("inverted box", "box", "knife", "tuck")
	switch pl.kind {
	case "":
		p.fail(0, quote(p.word())+" is no kind of pleat", nearest(p.word(), []string{"knife", "box", "inverted box", "tuck"}))
	case "knife", "tuck":
		pl.out = p.take("facing out")
		p.take("facing back")
	}
	p.sign(',')
	at := p.i
	pl.d1 = p.sum()
	p.want("deep", " and how deep the pleat is")
	pl.d2 = pl.d1
	if p.take("at the first edge") {
		p.sign(',')
		pl.d2 = p.sum()
		p.want("deep at the second edge", "")
	}
	if pl.d1 < 0 || pl.d2 < 0 || pl.d1+pl.d2 == 0 {
		p.fail(at, fmt.Sprintf("a pleat %s deep", num(math.Min(pl.d1, pl.d2))), "a depth is more than 0")
	}
	p.sign(',')
	if pl.kind == "box" {
		pl.half = p.sum() / 2
		p.want("wide", " and how wide the box is")
		p.sign(',')
	}
	p.want("on", " and the line on which the pleat lies")
	if p.take("the fold") {
		pl.onFold = true
		if pl.kind != "inverted box" {
			p.fail(at, "on the fold lies an inverted box pleat only", "")
		}
	} else if pl.l = p.locus(); pl.l.circle || pl.l.edge != nil && len(pl.l.edge) != 1 {
		p.fail(p.i, "a pleat lies on a straight line", "")
	} else if pl.l.edge != nil {
		pl.l = locus{p: pl.l.edge[0].a, u: pl.l.edge[0].dir(0)}
	}
	p.sign(',')
	pl.e1 = d.edgeNamed(p)
	p.want("to", " and the edge at the pleat's other end")
	pl.e2 = d.edgeNamed(p)
	d.pleatRest(p, &pl)
	p.end()
	return pl
}

func (d *drawing) pleatRest(p *parser, pl *pleat) {
	for p.sign(',') {
		switch p.takeAny("stitched", "free", "between", "overlapping") {
		case "stitched":
			at := p.i
			pl.stitchedFrom = d.edgeNamed(p)
			if pl.stitchedFrom != pl.e1 && pl.stitchedFrom != pl.e2 {
				p.fail(at, "the pleat does not reach that edge", "")
			}
			p.want("to", " and the point to which it is stitched down")
			q := p.point()
			pl.stitchedTo = &q
		case "between":
			lo := p.locus()
			p.want("and", "")
			hi := p.locus()
			pl.lo, pl.hi = &lo, &hi
		case "overlapping":
			pl.overlap = true
		case "free":
		default:
			p.fail(p.i, p.seen()+" is not said of a pleat", "say stitched, free, between or overlapping")
		}
	}
}

// edgeNamed reads the name of an edge of the outline.
func (d *drawing) edgeNamed(p *parser) int {
	p.space()
	at := p.i
	var names []string
	for _, e := range d.edges {
		names = append(names, e.name)
	}
	n, ok := p.name(names)
	if !ok {
		p.fail(at, quote(p.word())+" is no edge of the outline of "+quote(d.name), nearest(p.word(), names))
	}
	for i, e := range d.edges {
		if e.name == n {
			return i
		}
	}
	return -1
}

// open opens all pleats of a drawing; nil where there are none.
func (d *drawing) open() *opened {
	if len(d.pleats) == 0 || d.opened != nil {
		return d.opened
	}
	var all []pleat
	for _, x := range d.pleats {
		if x.s == nil {
			d.sc.eng.fault(x.node, quote(x.key)+" wants a sentence", "")
			panic(blocked{})
		}
		all = append(all, d.readPleat(x))
	}
	e1, e2 := d.sides(all)
	for i := range all {
		if all[i].e1 == e2 {
			all[i].e1, all[i].e2, all[i].d1, all[i].d2 = e1, e2, all[i].d2, all[i].d1
		}
		if all[i].e1 != e1 || all[i].e2 != e2 {
			d.refuse(all[i], "all pleats of one drawing run between the same two edges", "draw the piece in two drawings")
		}
		if len(d.form().sectors) > 0 {
			d.refuse(all[i], "a drawing whose dart is moved takes no pleats", "trace the drawing, and pleat a piece of its own")
		}
		d.lay(&all[i], e1, e2)
	}
	sort.SliceStable(all, func(i, j int) bool { return before(all[i].turns[0].a, all[j].turns[0].a) })
	d.apart(all)
	d.opened = d.unfold(all, e1, e2)
	return d.opened
}

func before(p, q place) bool { return p.i < q.i || p.i == q.i && p.t < q.t }

func (d *drawing) refuse(pl pleat, text, mend string) {
	(&parser{s: pl.s, sc: d.sc}).fail(0, quote(pl.name)+": "+text, mend)
}

// sides picks which of the two edges is walked first, so that what lies before the pleats is the
// side of the fold, which stays where it is.
func (d *drawing) sides(all []pleat) (e1, e2 int) {
	e1, e2 = all[0].e1, all[0].e2
	n := len(d.edges)
	for i := (e1 + 1) % n; i != e2; i = (i + 1) % n {
		if d.edges[i].fold {
			return e2, e1
		}
	}
	for i := (e2 + 1) % n; i != e1; i = (i + 1) % n {
		if d.edges[i].fold {
			return e1, e2
		}
	}
	// No fold: what lies nearer the centre stays.
	if d.edges[e1].c.start()[0] > d.edges[e1].c.end()[0] {
		return e2, e1
	}
	return e1, e2
}

// lay finds a pleat's folds, in the order in which the cloth runs through them.
func (d *drawing) lay(pl *pleat, e1, e2 int) {
	c1, c2 := d.edges[e1].c, d.edges[e2].c
	if pl.onFold {
		for _, e := range d.edges {
			if e.fold {
				pl.l = locus{p: e.c.start(), u: e.c[0].dir(0)}
			}
		}
		if pl.l.u == (orb.Point{}) {
			d.refuse(*pl, "the outline has no fold", "say on the fold behind the edge that lies on it")
		}
	}
	q1, q2 := d.cross(*pl, c1, pl.l, e1), d.cross(*pl, c2, pl.l, e2)
	pl.first, pl.second = c1[q1.i].at(q1.t), c2[q2.i].at(q2.t)
	// n runs the way the first edge is walked.
	u := geom.Unit(geom.Sub(pl.second, pl.first))
	n := geom.Left(u)
	if geom.Dot(n, c1[q1.i].dir(q1.t)) < 0 {
		n = geom.Mul(n, -1)
	}
	fold := func(k, h float64, outer bool) {
		t := turn{outer: outer, name: "inner fold"}
		if outer {
			t.name = "outer fold"
		}
		// Depths are measured where the outer fold meets the edges, so that a tapered pleat never
		// crosses itself before a sloping edge.
		outer1, outer2 := pl.first, pl.second
		if h != 0 {
			l := locus{p: geom.Add(pl.first, geom.Mul(n, h)), u: u}
			o1, o2 := d.cross(*pl, c1, l, e1), d.cross(*pl, c2, l, e2)
			outer1, outer2 = c1[o1.i].at(o1.t), c2[o2.i].at(o2.t)
		}
		t.at, t.to = geom.Add(outer1, geom.Mul(n, k*pl.d1)), geom.Add(outer2, geom.Mul(n, k*pl.d2))
		l := locus{p: t.at, u: geom.Unit(geom.Sub(t.to, t.at))}
		t.a, t.b = d.cross(*pl, c1, l, e1), d.cross(*pl, c2, l, e2)
		pl.turns = append(pl.turns, t)
	}
	out := n[0] > 0
	switch {
	case pl.onFold:
		fold(1, 0, false)
		fold(0, 0, true)
	case pl.kind == "inverted box":
		fold(0, 0, true)
		fold(-1, 0, false)
		fold(1, 0, false)
		fold(0, 0, true)
	case pl.kind == "box":
		fold(1, -pl.half, false)
		fold(0, -pl.half, true)
		fold(0, pl.half, true)
		fold(-1, pl.half, false)
	case pl.out == out: // the near side lies over the far one
		fold(0, 0, true)
		fold(-1, 0, false)
	default:
		fold(1, 0, false)
		fold(0, 0, true)
	}
}

// cross is where a line of the pleat crosses an edge.
func (d *drawing) cross(pl pleat, c curve, l locus, e int) place {
	ps := c.meets(l.p, l.u)
	if len(ps) == 0 {
		d.refuse(pl, fmt.Sprintf("a fold at %s does not cross the edge %q: the pleat runs past the piece", spot(l.p), d.edges[e].name),
			"make it less deep, or lay it further in")
	}
	if len(ps) > 1 {
		d.refuse(pl, fmt.Sprintf("a fold at %s crosses the edge %q %d times", spot(l.p), d.edges[e].name, len(ps)), "divide the edge in two")
	}
	return ps[0]
}

// apart refuses pleats whose hidden depths overlap without being meant to.
func (d *drawing) apart(all []pleat) {
	for i, pl := range all {
		if pl.lo != nil && !pl.overlap {
			room := math.Abs(geom.Cross(pl.lo.u, geom.Sub(pl.hi.p, pl.lo.p)))
			deep := math.Max(pl.d1, pl.d2)
			if need := 2*deep + 2*pl.half; need > room+d.sc.eng.hair() {
				d.refuse(pl, fmt.Sprintf("the pleat hides 2 x %s = %s of cloth where there is room for %s", num(deep), num(2*deep), num(room)),
					"make it less deep, or say overlapping")
			}
		}
		if i == 0 || pl.overlap {
			continue
		}
		prev := all[i-1]
		c1 := d.edges[pl.e1].c
		far, near := reach(prev, false), reach(pl, true)
		if before(near, far) && geom.Dist(c1[near.i].at(near.t), c1[far.i].at(far.t)) > d.sc.eng.hair() {
			d.refuse(pl, fmt.Sprintf("it overlaps %q", prev.name), "make one less deep, move them apart, or say overlapping")
		}
	}
}

// reach is how far a pleat's folds reach along the first edge, to its start or its end.
func reach(pl pleat, low bool) place {
	best := pl.turns[0].a
	for _, t := range pl.turns {
		if before(t.a, best) == low {
			best = t.a
		}
	}
	return best
}
