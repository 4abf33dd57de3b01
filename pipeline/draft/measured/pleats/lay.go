package pleats

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/sentence"
)

// fold is one fold of a pleat in the worn shape: the line through two points, where it crosses the
// two edges, and what is seen.
type fold struct {
	at, to orb.Point
	outer  bool
	name   string
	a, b   curve.Place // on the two edges
	FlatA  orb.Point
	FlatB  orb.Point
	// comes is the layer in which lies the line that an outer fold comes to, where it is marked.
	comes  int
	placed bool
}

func (s *Sentence) refuse(text, mend string) {
	s.parser.Refuse(0, sentence.Quote(s.name)+": "+text, mend)
}

// sides picks which of the two edges is walked first, so that what lies before the pleats is the
// side of the fold, which stays where it is.
func sides(edges []curve.Edge, e1, e2 int) (int, int) {
	n := len(edges)
	for i := (e1 + 1) % n; i != e2; i = (i + 1) % n {
		if edges[i].Fold {
			return e2, e1
		}
	}
	for i := (e2 + 1) % n; i != e1; i = (i + 1) % n {
		if edges[i].Fold {
			return e1, e2
		}
	}
	// No fold: the side nearer the centre stays.
	if edges[e1].Curve.Start()[0] > edges[e1].Curve.End()[0] {
		return e2, e1
	}
	return e1, e2
}

// lay finds a pleat's folds, in the order in which the cloth runs through them.
func (pl *pleat) lay(d *drafting.Drawing, edges []curve.Edge) {
	e1, e2 := pl.FirstEdge, pl.SecondEdge
	c1, c2 := edges[e1].Curve, edges[e2].Curve
	if pl.onFold {
		for _, e := range edges {
			if e.Fold {
				pl.Line = curve.Locus{Point: e.Curve.Start(), Along: e.Curve[0].Dir(0)}
			}
		}
		if pl.Line.Along == (orb.Point{}) {
			pl.refuse("the outline has no fold", "say on the fold behind the edge that lies on it")
		}
	}
	q1, q2 := pl.crossEdge(c1, pl.Line, edges[e1].Name), pl.crossEdge(c2, pl.Line, edges[e2].Name)
	pl.first, pl.second = c1[q1.Index].At(q1.T), c2[q2.Index].At(q2.T)
	// n runs the way the first edge is walked.
	u := geom.Unit(geom.Sub(pl.second, pl.first))
	n := geom.Left(u)
	if geom.Dot(n, c1[q1.Index].Dir(q1.T)) < 0 {
		n = geom.Mul(n, -1)
	}
	fold := func(k, h float64, outer bool) {
		t := fold{outer: outer, name: "inner fold"}
		if outer {
			t.name = "outer fold"
		}
		// Depths are measured where the outer fold meets the edges, so that a tapered pleat never
		// crosses itself before a sloping edge.
		outer1, outer2 := pl.first, pl.second
		if h != 0 {
			l := curve.Locus{Point: geom.Add(pl.first, geom.Mul(n, h)), Along: u}
			o1, o2 := pl.crossEdge(c1, l, edges[e1].Name), pl.crossEdge(c2, l, edges[e2].Name)
			outer1, outer2 = c1[o1.Index].At(o1.T), c2[o2.Index].At(o2.T)
		}
		t.at, t.to = geom.Add(outer1, geom.Mul(n, k*pl.d1)), geom.Add(outer2, geom.Mul(n, k*pl.d2))
		if pl.alongEdge {
			t.at, t.to = pl.farther(c1, outer1, k*pl.d1, edges[e1].Name), pl.farther(c2, outer2, -k*pl.d2, edges[e2].Name)
		}
		l := curve.Locus{Point: t.at, Along: geom.Unit(geom.Sub(t.to, t.at))}
		t.a, t.b = pl.crossEdge(c1, l, edges[e1].Name), pl.crossEdge(c2, l, edges[e2].Name)
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

// crossEdge is where a line of the pleat crosses an edge; the edge's start where that is refused.
func (s *Sentence) crossEdge(c curve.Curve, l curve.Locus, name string) curve.Place {
	ps := c.Meets(l.Point, l.Along)
	if len(ps) == 0 {
		s.refuse(fmt.Sprintf("a fold at %s does not cross the edge %q: the pleat runs past the piece", s.parser.Where(l.Point), name),
			"make it less deep, or lay it further in")
		return curve.Place{}
	}
	if len(ps) > 1 {
		s.refuse(fmt.Sprintf("a fold at %s crosses the edge %q %d times", s.parser.Where(l.Point), name, len(ps)), "divide the edge in two")
	}
	return ps[0]
}

// farther is the point of an edge that lies so much farther along it than another.
func (s *Sentence) farther(c curve.Curve, q orb.Point, by float64, name string) orb.Point {
	l := curve.NearestOn(c, q) + by
	if l < -1e-9 || l > c.Length()+1e-9 {
		s.refuse(fmt.Sprintf("a fold of it lies past the end of the edge %q", name), "make it less deep, or lay it further in")
	}
	at, _ := c.At(max(0, l))
	return at
}

// refuseOverlaps refuses pleats whose hidden depths overlap without being meant to.
func refuseOverlaps(d *drafting.Drawing, all []pleat, edges []curve.Edge) {
	for i, pl := range all {
		if pl.lo != nil && !pl.overlap {
			room := math.Abs(geom.Cross(pl.lo.Along, geom.Sub(pl.hi.Point, pl.lo.Point)))
			deep := math.Max(pl.d1, pl.d2)
			if need := 2*deep + 2*pl.half; need > room+d.Scope.Context.Hair() {
				pl.refuse(fmt.Sprintf("the pleat hides 2 x %s = %s of cloth where there is room for %s", pl.parser.Say(deep), pl.parser.Say(2*deep), pl.parser.Say(room)),
					"make it less deep, or say overlapping")
			}
		}
		if i == 0 || pl.overlap {
			continue
		}
		prev := all[i-1]
		c1 := edges[pl.FirstEdge].Curve
		far, near := reach(prev, false), reach(pl, true)
		if curve.Before(near, far) && geom.Dist(c1[near.Index].At(near.T), c1[far.Index].At(far.T)) > d.Scope.Context.Hair() {
			pl.refuse(fmt.Sprintf("it overlaps %q", prev.name), "make one less deep, move them apart, or say overlapping")
		}
	}
}

// reach is how far a pleat's folds reach along the first edge, to its start or its end.
func reach(pl pleat, low bool) curve.Place {
	best := pl.turns[0].a
	for _, t := range pl.turns {
		if curve.Before(t.a, best) == low {
			best = t.a
		}
	}
	return best
}
