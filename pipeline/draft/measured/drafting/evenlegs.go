package drafting

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/draft/measured/warp"
)

// drawnLegs lists where the darts that are told from leg to point to leg have both legs and the point from which those are
// equal, as drawn.
func (d *Drawing) drawnLegs() [][3]orb.Point {
	var out [][3]orb.Point
	for _, x := range d.ShapeEntries {
		if x.Sentence == nil {
			continue
		}
		p := tree.NewParser(x.Sentence, d.Scope)
		placed := func() (orb.Point, bool) {
			name, _ := p.Named(tree.PointKind)
			def := d.Scope.Definitions[name]
			if def == nil {
				return orb.Point{}, false
			}
			return def.Placed(d.parser)
		}
		a, aKnown := placed()
		p.Take("to")
		apex, apexKnown := placed()
		p.Take("to")
		b, bKnown := placed()
		for ; !p.Done(); p.At++ {
			if p.Take("about") {
				if q, ok := placed(); ok {
					apex = q
				}
			}
		}
		if aKnown && apexKnown && bKnown {
			out = append(out, [3]orb.Point{a, apex, b})
		}
	}
	return out
}

// evenLegs makes the legs of the drawn darts equal again: a fitting that is deeper at one leg than at the other leaves them
// uneven, and they are sewn together. Both come to the mean, along themselves; the edges beside them follow.
func (d *Drawing) evenLegs(ring []curve.Edge, carry func(q orb.Point) orb.Point) ([]curve.Edge, func(q orb.Point) orb.Point) {
	for _, dart := range d.drawnLegs() {
		a, apex, b := carry(dart[0]), carry(dart[1]), carry(dart[2])
		la, lb := geom.Dist(apex, a), geom.Dist(apex, b)
		if math.Abs(geom.Dist(dart[1], dart[0])-geom.Dist(dart[1], dart[2])) > 10*d.Scope.Context.Hair() || math.Abs(la-lb) < 1e-9 {
			continue // drawn uneven, which a check tells; or even already
		}
		to := func(q orb.Point) orb.Point {
			for _, leg := range []orb.Point{a, b} {
				if geom.Dist(q, leg) < 1e-7 {
					return geom.Lerp(apex, leg, (la+lb)/2/geom.Dist(apex, leg))
				}
			}
			return q
		}
		was, out := ring, make([]curve.Edge, len(ring))
		moved := make([]geom.Affine, len(ring))
		for i, ed := range ring {
			moved[i] = warp.EndsTo(ed.Curve, to(ed.Curve.Start()), to(ed.Curve.End()))
			ed.Curve = ed.Curve.Apply(moved[i])
			out[i] = ed
		}
		before := carry
		ring, carry = out, func(q orb.Point) orb.Point {
			q = before(q)
			for i, ed := range was {
				if curve.NearestOn(ed.Curve, q) >= 0 {
					return moved[i].Apply(q)
				}
			}
			return q
		}
	}
	return ring, carry
}
