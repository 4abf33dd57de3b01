package measured

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// along is a point on an edge, by the length from one of its ends: "along side 12 from U".
func (p *parser) along() orb.Point {
	begin := p.i
	c := p.curve()
	l := p.sum()
	if p.take("from") {
		q := p.point()
		c = p.fromEnd(c, q, begin)
	}
	n := c.length()
	if l < -1e-9 || l > n+1e-9 {
		p.fail(begin, fmt.Sprintf("%s along an edge that is %s long", num(l), num(n)), "")
	}
	at, _ := c.at(l)
	return at
}

// fromEnd turns an edge so that it begins at the end that lies at q.
func (p *parser) fromEnd(c curve, q orb.Point, begin int) curve {
	tol := p.sc.eng.hair()
	switch {
	case geom.Dist(c.start(), q) <= tol:
		return c
	case geom.Dist(c.end(), q) <= tol:
		return c.reversed()
	}
	p.fail(begin, "that point is no end of the edge: it ends at "+spot(c.start())+" and "+spot(c.end()), "")
	return nil
}

// swung moves a point about another, keeping its distance, by so much as the tape measures between
// before and after: "swung M 7/8 out about X".
func (p *parser) swung() orb.Point {
	begin := p.i
	m := p.point()
	by := p.sum()
	side := p.takeAny("out", "back", "up", "down")
	p.want("about", " and the point about which it swings")
	x := p.point()
	l := geom.Dist(m, x)
	if math.Abs(by) > 2*l {
		p.fail(begin, fmt.Sprintf("it cannot swing by %s: it lies only %s from the point about which it swings", num(by), num(l)), "")
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
		p.fail(begin, "to which side it swings is not said", "say out, back, up or down before about")
	}
	if better {
		return a
	}
	return b
}

// carried turns a point about another as a third was turned: "carried T as M to M' about X".
func (p *parser) carried() orb.Point {
	pt := p.point()
	p.want("as", " and the two points that show the turn")
	a := p.point()
	p.want("to", "")
	b := p.point()
	p.want("about", "")
	c := p.point()
	u, v := geom.Sub(a, c), geom.Sub(b, c)
	turn := math.Atan2(geom.Cross(u, v), geom.Dot(u, v))
	return geom.Add(c, geom.Rotate(turn).Vector(geom.Sub(pt, c)))
}

// turned moves a point along the circle about another, by a length of the arc: "turned A 20 out
// round C".
func (p *parser) turned() orb.Point {
	begin := p.i
	a := p.point()
	l := p.sum()
	side := p.takeAny("out", "back")
	p.want("round", " and the centre")
	c := p.point()
	r := geom.Dist(a, c)
	if r < 1e-9 {
		p.fail(begin, "the point is the centre itself", "")
	}
	if l > 2*math.Pi*r {
		p.fail(begin, fmt.Sprintf("%s is more than once round a circle of radius %s", num(l), num(r)), "")
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
		p.fail(begin, "to which side it turns is not said", "say out or back before round")
	}
	return geom.Add(c, geom.Rotate(turn).Vector(w))
}

// meetFine finds where an edge meets another edge or a circle: on chords of a thousandth of a
// millimetre, then by halving on the true curves.
func meetFine(a, b locus) []orb.Point {
	if a.edge == nil {
		a, b = b, a
	}
	if b.circle {
		b.edge = curve{
			{a: geom.Add(b.c, orb.Point{b.r, 0}), b: geom.Sub(b.c, orb.Point{b.r, 0}), centre: b.c, sweep: math.Pi},
			{a: geom.Sub(b.c, orb.Point{b.r, 0}), b: geom.Add(b.c, orb.Point{b.r, 0}), centre: b.c, sweep: math.Pi},
		}
	}
	var out []orb.Point
	for _, s := range a.edge {
		for _, t := range b.edge {
			out = append(out, meetSegs(s, t, 0)...)
		}
	}
	var tidy []orb.Point
	for _, q := range out {
		fresh := true
		for _, o := range tidy {
			fresh = fresh && geom.Dist(o, q) > 1e-6
		}
		if fresh {
			tidy = append(tidy, q)
		}
	}
	return tidy
}

func meetSegs(s, t seg, depth int) []orb.Point {
	bs, bt := s.box(), t.box()
	if bs.Min[0] > bt.Max[0]+1e-9 || bt.Min[0] > bs.Max[0]+1e-9 || bs.Min[1] > bt.Max[1]+1e-9 || bt.Min[1] > bs.Max[1]+1e-9 {
		return nil
	}
	if depth > 44 || bs.Max[0]-bs.Min[0]+bs.Max[1]-bs.Min[1] < 1e-8 && bt.Max[0]-bt.Min[0]+bt.Max[1]-bt.Min[1] < 1e-8 {
		return []orb.Point{s.at(0.5)}
	}
	var out []orb.Point
	for _, u := range []seg{s.part(0, 0.5), s.part(0.5, 1)} {
		for _, v := range []seg{t.part(0, 0.5), t.part(0.5, 1)} {
			out = append(out, meetSegs(u, v, depth+1)...)
			if len(out) > 64 {
				return out
			}
		}
	}
	return out
}

// box is a box that surely holds the stretch.
func (s seg) box() orb.Bound {
	switch {
	case s.cubic:
		return orb.MultiPoint{s.a, s.h1, s.h2, s.b}.Bound()
	case s.isArc():
		grow := s.radius() * (1 - math.Cos(math.Min(math.Abs(s.sweep)/2, math.Pi)))
		return orb.MultiPoint{s.a, s.b}.Bound().Pad(grow)
	}
	return orb.MultiPoint{s.a, s.b}.Bound()
}
