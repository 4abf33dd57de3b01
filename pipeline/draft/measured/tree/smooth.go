package tree

import (
	"fmt"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
)

// smooth reads "P through T to Q, leaving W, arriving W" and "P to Q, pulled toward H and K".
func (p *Parser) smooth(begin int) stretch {
	var third Point
	at := p.At
	if p.Take("through") {
		at = p.At
		third = p.Point()
	}
	p.oneBetween(third != nil, "curve")
	p.Want("to", " and the point where the curve ends")
	end := p.Point()
	p.Sign(',')
	if p.TakeAny("pulled toward", "pulled towards", "pulled to") != "" {
		h := p.Point()
		p.Want("and", " and the second point toward which it is pulled")
		k := p.Point()
		return func(from orb.Point) curve.Curve {
			to := end()
			return curve.Curve{curve.CubicSeg(from, h(), k(), to)}
		}
	}
	if p.Take("bowed") {
		bow := p.bowed(begin)
		return func(from orb.Point) curve.Curve {
			to := end()
			if p.soundChord(from, to, begin) {
				return bow(from, to)
			}
			return nil
		}
	}
	ways := p.ways(third != nil)
	return func(from orb.Point) curve.Curve {
		var through orb.Point
		if third != nil {
			through = third()
		}
		to := end()
		if !p.soundChord(from, to, begin) {
			return nil
		}
		return p.touching(from, through, to, third != nil, ways, at)
	}
}

// oneBetween refuses a second point through which a curve or an arc is to run.
func (p *Parser) oneBetween(has bool, verb string) {
	if has && (p.Is("and") >= 0 || p.Is("through") >= 0 || p.RuneAt(p.At) == ',') {
		p.Fail(p.At, "one stretch runs through one point between its ends, and here a second one follows", "break it at the first: "+verb+" to that point, then "+verb+" through the second to the end; say at each how it leaves and arrives")
	}
}

// soundChord refuses a curve that ends where it begins.
func (p *Parser) soundChord(from, to orb.Point, begin int) bool {
	if geom.Dist(from, to) < 1e-9 {
		p.Refuse(begin, "the curve ends where it begins", "end it at another point, or look at how its two points are told: they lie in one place")
	}
	return !p.stuck()
}

// touching is the curve that leaves and arrives in its ways and, where has is true, touches a third point.
func (p *Parser) touching(from, through, to orb.Point, has bool, ways waysOf, at int) curve.Curve {
	d, e := ways(from, through, to)
	chord := geom.Dist(from, to)
	even := curve.Pulled(from, to, d, e, chord*curve.ArmShare(d, e))
	if p.stuck() || !has || geom.Dist(even.At(0.5), through) < 1e-6*chord {
		return curve.Curve{even} // in the middle of an S every length of arms touches the point
	}
	arm, ok := curve.ArmThrough(from, through, to, d, e)
	switch {
	case ok && curve.Overhangs(from, to, d, e, arm):
		p.Unfit(at, fmt.Sprintf("no even curve leaves and arrives like that and touches %s: it would run back over itself", p.Where(through)),
			fmt.Sprintf("move the point to %s, which the curve touches by itself, or break the curve there: end it at the point, and add then curve to its end", p.Where(even.At(0.5))))
	case !ok:
		p.Unfit(at, fmt.Sprintf("no even curve leaves and arrives like that and touches %s", p.Where(through)),
			fmt.Sprintf("move the point nearer to %s, which the curve touches by itself", p.Where(even.At(0.5))))
	}
	return curve.Curve{curve.Pulled(from, to, d, e, arm)}
}

// waysOf gives the directions in which a curve leaves and arrives.
type waysOf func(from, through, to orb.Point) (leaving, arriving orb.Point)

// ways reads "leaving W, arriving W". Of a way that is not said, that of the arc is taken: through the
// third point, where the curve has one, or with the way at the other end.
func (p *Parser) ways(has bool) waysOf {
	var leaving, arriving way
	if p.Take("leaving") {
		leaving = p.way()
	}
	k := p.At
	p.Sign(',')
	if p.Take("arriving") {
		arriving = p.way()
	} else {
		p.At = k
	}
	if leaving == nil && arriving == nil && !has {
		p.Fail(p.At, "how the curve runs is not said", "say it behind the curve's end: \"leaving out, arriving up\", \"pulled toward P and Q\" or \"bowed 0.5 out\"; or name a point on it: \"curve A through P to B\"")
	}
	return func(from, through, to orb.Point) (d, e orb.Point) {
		u := geom.Unit(geom.Sub(to, from))
		across := func(v orb.Point) orb.Point { return geom.Sub(geom.Mul(u, 2*geom.Dot(u, v)), v) }
		d, e = u, u
		if leaving != nil {
			d = leaving(from, to, from)
			e = across(d)
		}
		if arriving != nil {
			e = arriving(from, to, to)
			if leaving == nil {
				d = across(e)
			}
		}
		if c, _, ok := geom.Circle(from, through, to); has && ok {
			s := curve.ArcVia(from, through, to, c)
			if leaving == nil {
				d = s.Dir(0)
			}
			if arriving == nil {
				e = s.Dir(1)
			}
		}
		return d, e
	}
}
