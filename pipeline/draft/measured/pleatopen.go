package measured

import (
	"fmt"
	"math"
	"sort"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// opened is a drawing with its pleats opened, those between two edges: the outline that is cut.
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
	// before are the pleats between two other edges, which were opened first: this one opens what they left.
	before *opened
}

type seenFrom struct {
	layer  int
	at, to orb.Point
}

// innerLine is a line to be drawn inside the piece.
type innerLine struct {
	a, b orb.Point
	name string
	ends bool   // nicks at its ends
	at   [2]int // the edges at which it ends, where there are nicks
}

// open opens all pleats of a drawing; nil where there are none. Those between the same two edges are
// opened together, and each such set opens what the ones before left.
func (d *drawing) open() *opened {
	if o, ok := d.opened.(*opened); ok || len(d.pleats) == 0 {
		return o
	}
	f := d.form()
	var sets [][]pleat
	for _, x := range d.pleats {
		if x.s == nil {
			d.sc.eng.fault(x.keyNode, quote(x.key)+" wants a sentence", "")
			panic(blocked{})
		}
		pl := d.readPleat(x)
		d.carryPleat(&pl)
		for _, e := range []*int{&pl.e1, &pl.e2} {
			*e = indexOf(f.edges, d.edges[*e].name)
			if *e < 0 {
				d.refuse(pl, "it runs to the mouth of a dart that is moved away", "name the edge beside it")
			}
		}
		sets = inSet(sets, pl)
	}
	var o *opened
	edges := f.edges
	for _, set := range sets {
		o = d.openSet(set, edges, o)
		edges = o.edges
	}
	d.opened = o
	return o
}

// inSet puts a pleat to those that run between the same two edges.
func inSet(sets [][]pleat, pl pleat) [][]pleat {
	for k, set := range sets {
		if e := set[0]; e.e1 == pl.e1 && e.e2 == pl.e2 || e.e1 == pl.e2 && e.e2 == pl.e1 {
			sets[k] = append(set, pl)
			return sets
		}
	}
	return append(sets, []pleat{pl})
}

// openSet opens the pleats between two edges.
func (d *drawing) openSet(all []pleat, edges []outlineEdge, prev *opened) *opened {
	e1, e2 := sides(edges, all[0].e1, all[0].e2)
	for i := range all {
		pl := &all[i]
		if pl.e1 == e2 {
			pl.e1, pl.e2, pl.d1, pl.d2 = e1, e2, pl.d2, pl.d1
		}
		if prev != nil {
			d.bring(pl, prev)
		}
		d.lay(pl, edges)
		d.clear(*pl, edges, prev)
	}
	sort.SliceStable(all, func(i, j int) bool { return before(all[i].turns[0].a, all[j].turns[0].a) })
	d.apart(all, edges)
	return d.unfold(all, edges, prev)
}

// bring moves a pleat's line to where it lies once other pleats are opened.
func (d *drawing) bring(pl *pleat, prev *opened) {
	if pl.stitchedTo != nil {
		q := prev.flat(*pl.stitchedTo)
		pl.stitchedTo = &q
	}
	if pl.onFold {
		return
	}
	edges := d.form().edges
	c1, c2 := edges[pl.e1], edges[pl.e2]
	p1, p2 := d.cross(*pl, c1.c, pl.l, c1.name), d.cross(*pl, c2.c, pl.l, c2.name)
	q1, q2 := c1.c[p1.i].at(p1.t), c2.c[p2.i].at(p2.t)
	a, b, m := prev.flat(q1), prev.flat(q2), prev.flat(geom.Lerp(q1, q2, 0.5))
	if hair := 10 * d.sc.eng.hair(); geom.Dist(m, geom.Lerp(a, b, 0.5)) > hair || math.Abs(geom.Dist(a, b)-geom.Dist(q1, q2)) > hair {
		d.refuse(*pl, "it runs across a pleat between other edges", "let both run between the same two edges, or draw the piece in two drawings")
	}
	pl.l = locus{p: a, u: geom.Unit(geom.Sub(b, a))}
}

// carryPleat brings a pleat's line to where it lies once the drawing is shaped. The line must lie in one
// part of the cloth: a cut that runs across it would leave it in two.
func (d *drawing) carryPleat(pl *pleat) {
	stages := d.shaped().stages
	if len(stages) == 0 {
		return
	}
	if pl.stitchedTo != nil {
		q := carry(stages, *pl.stitchedTo)
		pl.stitchedTo = &q
	}
	if pl.onFold {
		return
	}
	drawn := d
	for drawn.whole != nil {
		drawn = drawn.whole
	}
	q1, q2 := drawn.crossName(*pl, d.edges[pl.e1].name), drawn.crossName(*pl, d.edges[pl.e2].name)
	a, b, m := carry(stages, q1), carry(stages, q2), carry(stages, geom.Lerp(q1, q2, 0.5))
	if geom.Dist(m, geom.Lerp(a, b, 0.5)) > 10*d.sc.eng.hair() || math.Abs(geom.Dist(a, b)-geom.Dist(q1, q2)) > 10*d.sc.eng.hair() {
		d.refuse(*pl, fmt.Sprintf("its line, from %s to %s, runs across a cut by which a dart is moved or the piece is flared", spot(q1), spot(q2)),
			"lay it beside the cut, or move the dart to another place")
	}
	pl.l = locus{p: a, u: geom.Unit(geom.Sub(b, a))}
}

// crossName is where a pleat's own line crosses an edge as drawn.
func (d *drawing) crossName(pl pleat, name string) orb.Point {
	i := indexOf(d.edges, name)
	at := d.cross(pl, d.edges[i].c, pl.l, name)
	return d.edges[i].c[at.i].at(at.t)
}

// clear refuses a pleat one of whose folds runs through a dart, or through a pleat that was opened before.
func (d *drawing) clear(pl pleat, edges []outlineEdge, o *opened) {
	f := d.form()
	for _, t := range pl.turns {
		fold := geom.Path{Points: []orb.Point{edges[pl.e1].c[t.a.i].at(t.a.t), edges[pl.e2].c[t.b.i].at(t.b.t)}}
		through := func(name, mend string, pts ...orb.Point) {
			if len(geom.Crossings(fold, geom.Path{Points: pts})) > 0 {
				d.refuse(pl, "a fold of it runs through "+name, mend)
			}
		}
		const beside = "lay the pleat beside the dart, or let the pleat take what the dart takes"
		for _, t := range f.darts {
			through("the "+t.name, beside, o.flat(t.a), o.flat(t.p), o.flat(t.b))
		}
		for _, t := range f.inside {
			t = t.apply(o.flat)
			through("the "+t.name, beside, t.ends[0], t.wide[0], t.ends[1], t.wide[1], t.ends[0])
		}
		if o == nil {
			continue
		}
		for _, l := range o.lines {
			through("a pleat between other edges", "let both run between the same two edges, or draw the piece in two drawings", l.a, l.b)
		}
	}
}
