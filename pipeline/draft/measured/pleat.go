package measured

import (
	"fmt"
	"math"

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
	// comes is the layer in which lies the line that an outer fold comes to, where it is marked.
	comes  int
	placed bool
}

func before(p, q place) bool { return p.i < q.i || p.i == q.i && p.t < q.t }

func (d *drawing) refuse(pl pleat, text, mend string) {
	(newParser(pl.s, d.sc)).fail(0, quote(pl.name)+": "+text, mend)
}

// sides picks which of the two edges is walked first, so that what lies before the pleats is the
// side of the fold, which stays where it is.
func sides(edges []outlineEdge, e1, e2 int) (int, int) {
	n := len(edges)
	for i := (e1 + 1) % n; i != e2; i = (i + 1) % n {
		if edges[i].fold {
			return e2, e1
		}
	}
	for i := (e2 + 1) % n; i != e1; i = (i + 1) % n {
		if edges[i].fold {
			return e1, e2
		}
	}
	// No fold: what lies nearer the centre stays.
	if edges[e1].c.start()[0] > edges[e1].c.end()[0] {
		return e2, e1
	}
	return e1, e2
}

// lay finds a pleat's folds, in the order in which the cloth runs through them.
func (d *drawing) lay(pl *pleat, edges []outlineEdge) {
	e1, e2 := pl.e1, pl.e2
	c1, c2 := edges[e1].c, edges[e2].c
	if pl.onFold {
		for _, e := range edges {
			if e.fold {
				pl.l = locus{p: e.c.start(), u: e.c[0].dir(0)}
			}
		}
		if pl.l.u == (orb.Point{}) {
			d.refuse(*pl, "the outline has no fold", "say on the fold behind the edge that lies on it")
		}
	}
	q1, q2 := d.cross(*pl, c1, pl.l, edges[e1].name), d.cross(*pl, c2, pl.l, edges[e2].name)
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
			o1, o2 := d.cross(*pl, c1, l, edges[e1].name), d.cross(*pl, c2, l, edges[e2].name)
			outer1, outer2 = c1[o1.i].at(o1.t), c2[o2.i].at(o2.t)
		}
		t.at, t.to = geom.Add(outer1, geom.Mul(n, k*pl.d1)), geom.Add(outer2, geom.Mul(n, k*pl.d2))
		l := locus{p: t.at, u: geom.Unit(geom.Sub(t.to, t.at))}
		t.a, t.b = d.cross(*pl, c1, l, edges[e1].name), d.cross(*pl, c2, l, edges[e2].name)
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
func (d *drawing) cross(pl pleat, c curve, l locus, name string) place {
	ps := c.meets(l.p, l.u)
	if len(ps) == 0 {
		d.refuse(pl, fmt.Sprintf("a fold at %s does not cross the edge %q: the pleat runs past the piece", spot(l.p), name),
			"make it less deep, or lay it further in")
	}
	if len(ps) > 1 {
		d.refuse(pl, fmt.Sprintf("a fold at %s crosses the edge %q %d times", spot(l.p), name, len(ps)), "divide the edge in two")
	}
	return ps[0]
}

// apart refuses pleats whose hidden depths overlap without being meant to.
func (d *drawing) apart(all []pleat, edges []outlineEdge) {
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
		c1 := edges[pl.e1].c
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
