package tree

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sentence"
)

// along is a point on an edge, by the length from one of its ends: "along side 12 from U".
func (p *Parser) along() Point {
	begin := p.At
	edge := p.Edge()
	length := p.Sum()
	var end Point
	if p.Take("from") {
		end = p.Point()
	}
	return func() orb.Point {
		c, l := edge(), length()
		if end != nil {
			c = p.fromEnd(c, end(), begin)
		}
		if p.stuck() {
			return orb.Point{}
		}
		n := c.Length()
		if l < -1e-9 || l > n+1e-9 {
			p.Unfit(begin, fmt.Sprintf("%s along an edge that is %s long", sentence.FormatNumber(l), sentence.FormatNumber(n)), "")
		}
		at, _ := c.At(l)
		return at
	}
}

// fromEnd turns an edge so that it begins at the end that lies at q.
func (p *Parser) fromEnd(c curve.Curve, q orb.Point, begin int) curve.Curve {
	tol := p.Scope.Context.Hair()
	switch {
	case len(c) == 0, geom.Dist(c.Start(), q) <= tol:
		return c
	case geom.Dist(c.End(), q) <= tol:
		return c.Reversed()
	}
	p.Refuse(begin, "that point is no end of the edge: it ends at "+p.Where(c.Start())+" and "+p.Where(c.End()), "")
	return c
}

// swung moves a point about another, keeping its distance, by so much as the tape measures between
// before and after: "swung M 7/8 out about X".
func (p *Parser) swung() Point {
	begin := p.At
	from := p.Point()
	length := p.Sum()
	to, ok := compass[p.TakeAny("out", "back", "up", "down")]
	p.Want("about", " and the point about which it swings")
	about := p.Point()
	if !ok {
		p.Fail(begin, "to which side it swings is not said", "say out, back, up or down before about")
	}
	return func() orb.Point {
		m, by, x := from(), length(), about()
		l := geom.Dist(m, x)
		if math.Abs(by) > 2*l {
			p.Unfit(begin, fmt.Sprintf("it cannot swing by %s: it lies only %s from the point about which it swings", sentence.FormatNumber(by), sentence.FormatNumber(l)), "")
		}
		turn := 2 * math.Asin(by/2/l)
		a := geom.Add(x, geom.Rotate(turn).Vector(geom.Sub(m, x)))
		b := geom.Add(x, geom.Rotate(-turn).Vector(geom.Sub(m, x)))
		if geom.Dot(a, to) >= geom.Dot(b, to) {
			return a
		}
		return b
	}
}

// carried turns a point about another as a third was turned: "carried T as M to M' about X".
func (p *Parser) carried() Point {
	point := p.Point()
	p.Want("as", " and the two points that show the turn")
	before := p.Point()
	p.Want("to", "")
	after := p.Point()
	p.Want("about", "")
	about := p.Point()
	return func() orb.Point {
		q, a, b, c := point(), before(), after(), about()
		u, v := geom.Sub(a, c), geom.Sub(b, c)
		turn := math.Atan2(geom.Cross(u, v), geom.Dot(u, v))
		return geom.Add(c, geom.Rotate(turn).Vector(geom.Sub(q, c)))
	}
}

// turned moves a point along the circle about another, by a length of the arc: "turned A 20 out
// round C".
func (p *Parser) turned() Point {
	begin := p.At
	from := p.Point()
	length := p.Sum()
	side := p.TakeAny("out", "back")
	p.Want("round", " and the centre")
	centre := p.Point()
	if side == "" {
		p.Fail(begin, "to which side it turns is not said", "say out or back before round")
	}
	return func() orb.Point {
		a, l, c := from(), length(), centre()
		r := geom.Dist(a, c)
		switch {
		case r < 1e-9:
			p.Refuse(begin, "the point is the centre itself", "")
		case l > 2*math.Pi*r:
			p.Unfit(begin, fmt.Sprintf("%s is more than once round a circle of radius %s", sentence.FormatNumber(l), sentence.FormatNumber(r)), "")
		}
		w := geom.Sub(a, c)
		turn := l / r
		off := geom.Left(w)[0] // out or back is where the point sets off
		if side == "out" && off < 0 || side == "back" && off > 0 {
			turn = -turn
		}
		return geom.Add(c, geom.Rotate(turn).Vector(w))
	}
}
