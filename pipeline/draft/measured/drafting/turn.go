package drafting

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sentence"
)

// along is a point on an edge, by the length from one of its ends: "along side 12 from U".
func (p *Parser) along() orb.Point {
	begin := p.At
	c := p.curve()
	l := p.Sum()
	if p.Take("from") {
		q := p.Point()
		c = p.fromEnd(c, q, begin)
	}
	n := c.Length()
	if l < -1e-9 || l > n+1e-9 {
		p.Unfit(begin, fmt.Sprintf("%s along an edge that is %s long", sentence.FormatNumber(l), sentence.FormatNumber(n)), "")
	}
	at, _ := c.At(l)
	return at
}

// fromEnd turns an edge so that it begins at the end that lies at q.
func (p *Parser) fromEnd(c curve.Curve, q orb.Point, begin int) curve.Curve {
	tol := p.Scope.Draft.Hair()
	switch {
	case geom.Dist(c.Start(), q) <= tol:
		return c
	case geom.Dist(c.End(), q) <= tol:
		return c.Reversed()
	}
	p.Fail(begin, "that point is no end of the edge: it ends at "+FormatPoint(c.Start())+" and "+FormatPoint(c.End()), "")
	return nil
}

// swung moves a point about another, keeping its distance, by so much as the tape measures between
// before and after: "swung M 7/8 out about X".
func (p *Parser) swung() orb.Point {
	begin := p.At
	m := p.Point()
	by := p.Sum()
	side := p.TakeAny("out", "back", "up", "down")
	p.Want("about", " and the point about which it swings")
	x := p.Point()
	l := geom.Dist(m, x)
	if math.Abs(by) > 2*l {
		p.Unfit(begin, fmt.Sprintf("it cannot swing by %s: it lies only %s from the point about which it swings", sentence.FormatNumber(by), sentence.FormatNumber(l)), "")
	}
	turn := 2 * math.Asin(by/2/l)
	a := geom.Add(x, geom.Rotate(turn).Vector(geom.Sub(m, x)))
	b := geom.Add(x, geom.Rotate(-turn).Vector(geom.Sub(m, x)))
	var better bool
	switch side {
	case "out":
		better = a[0] >= b[0]
	case "back":
		better = a[0] <= b[0]
	case "up":
		better = a[1] <= b[1]
	case "down":
		better = a[1] >= b[1]
	default:
		p.Fail(begin, "to which side it swings is not said", "say out, back, up or down before about")
	}
	if better {
		return a
	}
	return b
}

// carried turns a point about another as a third was turned: "carried T as M to M' about X".
func (p *Parser) carried() orb.Point {
	pt := p.Point()
	p.Want("as", " and the two points that show the turn")
	a := p.Point()
	p.Want("to", "")
	b := p.Point()
	p.Want("about", "")
	c := p.Point()
	u, v := geom.Sub(a, c), geom.Sub(b, c)
	turn := math.Atan2(geom.Cross(u, v), geom.Dot(u, v))
	return geom.Add(c, geom.Rotate(turn).Vector(geom.Sub(pt, c)))
}

// turned moves a point along the circle about another, by a length of the arc: "turned A 20 out
// round C".
func (p *Parser) turned() orb.Point {
	begin := p.At
	a := p.Point()
	l := p.Sum()
	side := p.TakeAny("out", "back")
	p.Want("round", " and the centre")
	c := p.Point()
	r := geom.Dist(a, c)
	if r < 1e-9 {
		p.Fail(begin, "the point is the centre itself", "")
	}
	if l > 2*math.Pi*r {
		p.Unfit(begin, fmt.Sprintf("%s is more than once round a circle of radius %s", sentence.FormatNumber(l), sentence.FormatNumber(r)), "")
	}
	w := geom.Sub(a, c)
	turn := l / r
	// out or back is where the point sets off.
	off := geom.Left(w)[0]
	switch side {
	case "out":
		if off < 0 {
			turn = -turn
		}
	case "back":
		if off > 0 {
			turn = -turn
		}
	default:
		p.Fail(begin, "to which side it turns is not said", "say out or back before round")
	}
	return geom.Add(c, geom.Rotate(turn).Vector(w))
}
