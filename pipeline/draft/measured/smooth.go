package measured

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// smooth reads "P through T to Q, leaving W, arriving W" and "P to Q, pulled toward H and K".
func (p *parser) smooth(from orb.Point, begin int) curve {
	var through orb.Point
	has := p.take("through")
	at := p.i
	if has {
		through = p.point()
	}
	p.want("to", " and the point where the curve ends")
	to := p.point()
	p.sign(',')
	if p.takeAny("pulled toward", "pulled towards", "pulled to") != "" {
		h := p.point()
		p.want("and", " and the second point toward which it is pulled")
		return curve{cubicSeg(from, h, p.point(), to)}
	}
	chord := geom.Dist(from, to)
	if chord < 1e-9 {
		p.fail(begin, "the curve ends where it begins", "")
	}
	if p.take("bowed") {
		return p.bowed(from, to, begin)
	}
	d, e := p.ways(from, through, to, has)
	if !has {
		return curve{pulled(from, to, d, e, chord*armShare(d, e))}
	}
	even := pulled(from, to, d, e, chord*armShare(d, e))
	if geom.Dist(even.at(0.5), through) < 1e-6*chord {
		return curve{even} // in the middle of an S every length of arms touches the point
	}
	arm, ok := armThrough(from, through, to, d, e)
	if ok && overhangs(from, to, d, e, arm) {
		p.fail(at, fmt.Sprintf("no even curve leaves and arrives like that and touches %s: it would run back over itself", spot(through)),
			fmt.Sprintf("move the point to %s, which the curve touches by itself, or break the curve there: end it at the point, and add then curve to its end", spot(even.at(0.5))))
	}
	if !ok {
		p.fail(at, fmt.Sprintf("no even curve leaves and arrives like that and touches %s", spot(through)),
			fmt.Sprintf("move the point nearer to %s, which the curve touches by itself", spot(even.at(0.5))))
	}
	return curve{pulled(from, to, d, e, arm)}
}

// ways reads "leaving W, arriving W". Of a way that is not said, that of the arc is taken: through the
// third point, or with the way at the other end.
func (p *parser) ways(from, through, to orb.Point, has bool) (d, e orb.Point) {
	left := p.take("leaving")
	if left {
		d = p.way(from, to, from)
	}
	k := p.i
	p.sign(',')
	arrived := p.take("arriving")
	if arrived {
		e = p.way(from, to, to)
	} else {
		p.i = k
	}
	if !left && !arrived && !has {
		p.fail(p.i, "how the curve runs is not said", "add leaving and arriving, each with a way, pulled toward two points, bowed 0.5 out, or through and a point before to")
	}
	u := geom.Unit(geom.Sub(to, from))
	across := func(v orb.Point) orb.Point { return geom.Sub(geom.Mul(u, 2*geom.Dot(u, v)), v) }
	if c, _, ok := geom.Circle(from, through, to); has && ok {
		s := viaArc(from, through, to, c)
		if !left {
			d = s.dir(0)
		}
		if !arrived {
			e = s.dir(1)
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

func pulled(from, to, d, e orb.Point, arm float64) seg {
	return cubicSeg(from, geom.Add(from, geom.Mul(d, arm)), geom.Sub(to, geom.Mul(e, arm)), to)
}

// overhangs tells whether a curve turns back against one of its own ways although both lead on to its
// end: a cap drawn so comes out as a mushroom, which nobody means. Ways more than a right angle apart,
// as at an armhole that is hollowed behind its tip, are left alone.
func overhangs(from, to, d, e orb.Point, arm float64) bool {
	u := geom.Sub(to, from)
	if geom.Dot(d, e) < 0 || geom.Dot(d, u) < 0 || geom.Dot(e, u) < 0 {
		return false
	}
	s := pulled(from, to, d, e, arm)
	const n = 64
	for i := 1; i < n; i++ {
		w := s.dir(float64(i) / n)
		if geom.Dot(w, d) < -1e-3 || geom.Dot(w, e) < -1e-3 {
			return true
		}
	}
	return false
}

// armShare is how long the arms of an even curve are, in chords: those of the arc with that turn.
func armShare(d, e orb.Point) float64 {
	turn := math.Abs(math.Atan2(geom.Cross(d, e), geom.Dot(d, e)))
	if turn < 1e-6 {
		return 1.0 / 3
	}
	return 2 * math.Tan(turn/4) / (3 * math.Sin(turn/2))
}

// armThrough finds the one length of both arms with which the curve touches a point. At parameter t
// the curve is a + b l, so that touching means a - point parallel to b; the length follows.
func armThrough(from, via, to, d, e orb.Point) (float64, bool) {
	parts := func(t float64) (a, b orb.Point) {
		u := 1 - t
		k0, k1, k2, k3 := u*u*u, 3*u*u*t, 3*u*t*t, t*t*t
		a = geom.Sub(geom.Add(geom.Mul(from, k0+k1), geom.Mul(to, k2+k3)), via)
		b = geom.Sub(geom.Mul(d, k1), geom.Mul(e, k2))
		return a, b
	}
	f := func(t float64) float64 { a, b := parts(t); return geom.Cross(a, b) }
	chord := geom.Dist(from, to)
	best, found := 0.0, false
	const n = 64
	for i := 1; i < n-1; i++ {
		lo, hi := float64(i)/n, float64(i+1)/n
		if f(lo)*f(hi) > 0 {
			continue
		}
		rising := f(hi) > 0
		if f(hi) == 0 {
			lo = hi
		}
		for range 80 {
			if mid := (lo + hi) / 2; (f(mid) > 0) == rising {
				hi = mid
			} else {
				lo = mid
			}
		}
		a, b := parts(lo)
		l := -geom.Dot(a, b) / geom.Dot(b, b)
		if geom.Norm(geom.Add(a, geom.Mul(b, l))) > 1e-6*chord {
			continue // a change of sign that is no meeting
		}
		ideal := chord * armShare(d, e)
		if l > 0.02*chord && l < 1.5*chord && (!found || math.Abs(l-ideal) < math.Abs(best-ideal)) {
			best, found = l, true
		}
	}
	return best, found
}
