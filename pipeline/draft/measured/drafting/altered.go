package drafting

import (
	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/tree"
)

// alter adds what a fitting does to the drawing's outline.
func (d *Drawing) alter(a *alteration, do alterStep) {
	d.alters = append(d.alters, do)
	d.Scope.Altered = &tree.Alteration{Edge: d.alteredEdge, Point: d.alteredPoint}
}

// alterStep takes a ring, and what brings a drawn point onto it, one fitting further.
type alterStep func(ring []curve.Edge, carry func(q orb.Point) orb.Point) (out []curve.Edge, to func(q orb.Point) orb.Point, ok bool)

// altered is the outline after all fittings, and what brings a drawn point onto it; nil where that is refused.
func (d *Drawing) altered() ([]curve.Edge, func(q orb.Point) orb.Point) {
	d.Scope.Context.Rest()
	if f := d.fitted; f != nil {
		return f.ring, f.carry
	}
	drawn := &Drawing{Scope: d.Scope, parser: d.parser, named: d.named}
	for _, o := range d.named {
		c, ok := o.Drawn(d.parser)
		if !ok {
			return nil, nil
		}
		drawn.Edges = append(drawn.Edges, curve.Edge{Name: o.Name(), Curve: c, Line: o.Line, Column: o.Column, Fold: o.fold})
	}
	if drawn.orient(); d.Scope.Context.Blocked() {
		return nil, nil
	}
	ring, carry := drawn.Edges, func(q orb.Point) orb.Point { return q }
	for _, step := range d.alters {
		out, to, ok := step(ring, carry)
		if !ok {
			return nil, nil
		}
		before := carry
		ring, carry = d.evenLegs(out, func(q orb.Point) orb.Point { return to(before(q)) })
	}
	d.fitted = &fitted{ring, carry}
	return ring, carry
}

// fitted is an outline after all fittings, and what brings a drawn point onto it.
type fitted struct {
	ring  []curve.Edge
	carry func(q orb.Point) orb.Point
}

func (d *Drawing) alteredPoint(q orb.Point) orb.Point {
	if _, carry := d.altered(); carry != nil {
		return carry(q)
	}
	return q
}

// alteredEdge gives an edge in the direction in which it is drawn.
func (d *Drawing) alteredEdge(def *tree.Definition) curve.Curve {
	ring, _ := d.altered()
	i := curve.IndexOf(ring, def.Name())
	if i < 0 {
		return def.Curve
	}
	c := ring[i].Curve
	was := geom.Sub(def.Curve.End(), def.Curve.Start())
	if geom.Dot(was, geom.Sub(c.End(), c.Start())) < 0 {
		return c.Reversed()
	}
	return c
}
