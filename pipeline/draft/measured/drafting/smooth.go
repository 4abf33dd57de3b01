package drafting

import (
	"fmt"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
)

// smooth reads "P through T to Q, leaving W, arriving W" and "P to Q, pulled toward H and K".
func (p *Parser) smooth(from orb.Point, begin int) curve.Curve {
	var through orb.Point
	has := p.Take("through")
	at := p.At
	if has {
		through = p.Point()
	}
	p.Want("to", " and the point where the curve ends")
	to := p.Point()
	p.Sign(',')
	if p.TakeAny("pulled toward", "pulled towards", "pulled to") != "" {
		h := p.Point()
		p.Want("and", " and the second point toward which it is pulled")
		return curve.Curve{curve.CubicSeg(from, h, p.Point(), to)}
	}
	chord := geom.Dist(from, to)
	if chord < 1e-9 {
		p.Fail(begin, "the curve ends where it begins", "")
	}
	if p.Take("bowed") {
		return p.bowed(from, to, begin)
	}
	d, e := p.ways(from, through, to, has)
	if !has {
		return curve.Curve{curve.Pulled(from, to, d, e, chord*curve.ArmShare(d, e))}
	}
	even := curve.Pulled(from, to, d, e, chord*curve.ArmShare(d, e))
	if geom.Dist(even.At(0.5), through) < 1e-6*chord {
		return curve.Curve{even} // in the middle of an S every length of arms touches the point
	}
	arm, ok := curve.ArmThrough(from, through, to, d, e)
	if ok && curve.Overhangs(from, to, d, e, arm) {
		p.Unfit(at, fmt.Sprintf("no even curve leaves and arrives like that and touches %s: it would run back over itself", FormatPoint(through)),
			fmt.Sprintf("move the point to %s, which the curve touches by itself, or break the curve there: end it at the point, and add then curve to its end", FormatPoint(even.At(0.5))))
	}
	if !ok {
		p.Unfit(at, fmt.Sprintf("no even curve leaves and arrives like that and touches %s", FormatPoint(through)),
			fmt.Sprintf("move the point nearer to %s, which the curve touches by itself", FormatPoint(even.At(0.5))))
	}
	return curve.Curve{curve.Pulled(from, to, d, e, arm)}
}

// ways reads "leaving W, arriving W". Of a way that is not said, that of the arc is taken: through the
// third point, or with the way at the other end.
func (p *Parser) ways(from, through, to orb.Point, has bool) (d, e orb.Point) {
	left := p.Take("leaving")
	if left {
		d = p.way(from, to, from)
	}
	k := p.At
	p.Sign(',')
	arrived := p.Take("arriving")
	if arrived {
		e = p.way(from, to, to)
	} else {
		p.At = k
	}
	if !left && !arrived && !has {
		p.Fail(p.At, "how the curve runs is not said", "add leaving and arriving, each with a way, pulled toward two points, bowed 0.5 out, or through and a point before to")
	}
	u := geom.Unit(geom.Sub(to, from))
	across := func(v orb.Point) orb.Point { return geom.Sub(geom.Mul(u, 2*geom.Dot(u, v)), v) }
	if c, _, ok := geom.Circle(from, through, to); has && ok {
		s := curve.ArcVia(from, through, to, c)
		if !left {
			d = s.Dir(0)
		}
		if !arrived {
			e = s.Dir(1)
		}
		return d, e
	}
	switch {
	case !left && !arrived:
		return u, u
	case !left:
		return across(e), e
	case !arrived:
		return d, across(d)
	}
	return d, e
}
