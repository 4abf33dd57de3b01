package measured

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// curveSentence reads an edge: lines, arcs and curves in a row, joined by "then".
func (p *parser) curveSentence() curve {
	var out curve
	for {
		begin := p.i
		verb := p.takeAny("two arcs", "line", "arc", "curve")
		if verb == "" {
			p.fail(p.i, p.seen()+" is no stretch of an edge", "say line, arc, curve or two arcs")
		}
		var from orb.Point
		if len(out) > 0 {
			from = out.end()
			p.sameJoint(from, verb)
		} else {
			p.take("from")
			from = p.point()
		}
		var c curve
		switch verb {
		case "line":
			c = p.lineChain(from)
		case "arc":
			c = p.arc(from, begin)
		case "curve":
			c = p.smooth(from, begin)
		case "two arcs":
			c = p.twoArcs(from, begin)
		}
		out = append(out, c...)
		p.sign(',')
		if !p.take("then") {
			break
		}
	}
	if len(out) == 0 || out.length() < 1e-9 {
		p.fail(0, "this edge has no length", "")
	}
	return out
}

// sameJoint lets the point be named again at which the stretch before ended.
func (p *parser) sameJoint(from orb.Point, verb string) {
	if p.is("to") >= 0 || p.is("through") >= 0 {
		return
	}
	p.space()
	at := p.i
	p.take("from")
	if q := p.point(); geom.Dist(q, from) > p.sc.eng.hair() {
		p.fail(at, "what follows then begins where the stretch before it ends, at "+spot(from), "say "+verb+" to and the next point")
	}
}

// lineChain reads "A to B to C, softened at B 6".
func (p *parser) lineChain(from orb.Point) curve {
	pts := []orb.Point{from}
	for p.take("to") {
		pts = append(pts, p.point())
	}
	if len(pts) < 2 {
		p.want("to", " and the point where the line ends")
	}
	cuts := make([]float64, len(pts)) // how far from the corner the arc begins
	for {
		k := p.i
		p.sign(',')
		begin := p.i
		verb := p.takeAny("softened at", "rounded at")
		if verb == "" {
			p.i = k
			break
		}
		i := p.corner(pts)
		if p.is("and") >= 0 {
			p.fail(p.i, "one corner at a time", "say it of each: rounded at C 3, rounded at D 3")
		}
		turn := turnAt(pts, i)
		switch {
		case verb == "rounded at":
			r := p.sum()
			if r < 0 {
				p.fail(begin, fmt.Sprintf("a negative radius: %s", num(r)), "the corner lies beyond the edge it should run into; look at the measures in this sum")
			}
			cuts[i] = r * math.Tan(turn/2)
		case p.take("from"), p.take("to"):
			cuts[i] = geom.Dist(pts[i], p.point())
		case p.done() || p.i < len(p.s.text) && p.s.text[p.i] == ',':
			p.fail(begin, "how far from the corner the softening begins is not said", "add the length: "+strings.TrimSpace(string(p.s.text[begin:p.i]))+" 3")
		default:
			cuts[i] = p.sum()
			if cuts[i] < 0 {
				p.fail(begin, fmt.Sprintf("it cannot begin %s from the corner", num(cuts[i])), "")
			}
		}
		p.roomFor(pts, cuts, i, begin)
	}
	return softened(pts, cuts)
}

// corner reads one of the inner points of a line.
func (p *parser) corner(pts []orb.Point) int {
	begin := p.i
	q := p.point()
	for i := 1; i < len(pts)-1; i++ {
		if geom.Dist(pts[i], q) < 1e-9 {
			return i
		}
	}
	p.fail(begin, "that point is no corner of this line", "name one of the points between its ends")
	return 0
}

func turnAt(pts []orb.Point, i int) float64 {
	u, v := geom.Sub(pts[i], pts[i-1]), geom.Sub(pts[i+1], pts[i])
	return math.Abs(math.Atan2(geom.Cross(u, v), geom.Dot(u, v)))
}

func (p *parser) roomFor(pts []orb.Point, cuts []float64, i, begin int) {
	for _, k := range []int{i - 1, i + 1} {
		if leg, need := geom.Dist(pts[i], pts[k]), cuts[i]+cuts[k]; need > leg+p.sc.eng.hair() {
			p.fail(begin, fmt.Sprintf("the corners need %s of a leg that is only %s long", num(need), num(leg)), "make the radius smaller, or the leg longer")
		}
	}
}

func softened(pts []orb.Point, cuts []float64) curve {
	var out curve
	at := pts[0]
	line := func(to orb.Point) {
		if geom.Dist(at, to) > 1e-7 {
			out = append(out, lineSeg(at, to))
			at = to
		}
	}
	for i := 1; i < len(pts)-1; i++ {
		turn := turnAt(pts, i)
		if cuts[i] == 0 || turn < 1e-9 {
			line(pts[i])
			continue
		}
		u, v := geom.Unit(geom.Sub(pts[i], pts[i-1])), geom.Unit(geom.Sub(pts[i+1], pts[i]))
		a, b := geom.Sub(pts[i], geom.Mul(u, cuts[i])), geom.Add(pts[i], geom.Mul(v, cuts[i]))
		line(a)
		r := cuts[i] / math.Tan(turn/2)
		n := geom.Left(u)
		if geom.Cross(u, v) < 0 {
			n = geom.Mul(n, -1)
		}
		out = append(out, arcSeg(at, b, geom.Add(a, geom.Mul(n, r))))
		at = b
	}
	line(pts[len(pts)-1])
	return out
}

// way is a direction in which a curve from one point to another leaves or arrives at one of the two.
func (p *parser) way(from, to, at orb.Point) orb.Point {
	begin := p.i
	var u orb.Point
	exact := false
	switch p.takeAny("level", "plumb", "out", "back", "up", "down", "square to the centre", "square to", "toward", "towards", "along") {
	case "level", "square to the centre":
		u = orb.Point{1, 0}
	case "plumb":
		u = orb.Point{0, 1}
	case "out":
		return orb.Point{1, 0}
	case "back":
		return orb.Point{-1, 0}
	case "up":
		return orb.Point{0, -1}
	case "down":
		return orb.Point{0, 1}
	case "square to":
		u = geom.Left(p.between(begin))
	case "along":
		u, exact = p.between(begin), true
	case "toward", "towards":
		u, exact = p.heading(at, p.point(), begin), true
	default:
		p.fail(p.i, p.seen()+" is no way to leave or arrive", "say level, plumb, square to two points, along two points, or toward a point")
	}
	if exact {
		return u
	}
	if p.is("out") >= 0 || p.is("back") >= 0 || p.is("up") >= 0 || p.is("down") >= 0 {
		return p.side(u)
	}
	d := geom.Dot(u, geom.Unit(geom.Sub(to, from)))
	if math.Abs(d) < 1e-6 {
		p.fail(begin, "this way runs square to the edge itself, so it may be meant to either side", "add out, back, up or down")
	}
	if d < 0 {
		return geom.Mul(u, -1)
	}
	return u
}

// arc reads "P to Q round C" and its other forms.
func (p *parser) arc(from orb.Point, begin int) curve {
	var through orb.Point
	has := false
	if p.take("through") {
		through, has = p.point(), true
	}
	p.want("to", " and the point where the arc ends")
	to := p.point()
	if has {
		c, _, ok := geom.Circle(from, through, to)
		if !ok {
			p.fail(begin, "the three points lie on a line, so no arc runs through them", "")
		}
		return curve{viaArc(from, through, to, c)}
	}
	p.sign(',')
	switch p.takeAny("round", "about", "centre", "leaving", "arriving", "bowed") {
	case "round", "about", "centre":
		return p.arcRound(from, to, begin)
	case "bowed":
		return p.bowed(from, to, begin)
	case "leaving":
		return curve{p.leavingArc(from, to, p.way(from, to, from), begin)}
	case "arriving":
		w := p.way(from, to, to)
		return curve{p.leavingArc(to, from, geom.Mul(w, -1), begin).reversed()}
	}
	p.fail(p.i, "how the arc runs is not said", "add round and its centre, leaving or arriving and a way, bowed 0.5 out, or through and a point before to")
	return nil
}

// bowed reads "0.5 out": the arc that stands so far off the straight line at its middle.
func (p *parser) bowed(from, to orb.Point, begin int) curve {
	by := p.sum()
	if by <= 0 || geom.Dist(from, to) < 1e-9 {
		p.fail(begin, "an arc bowed "+num(by)+" over "+num(geom.Dist(from, to)), "say more than 0, and to which side: out, back, up or down")
	}
	u := p.side(geom.Left(geom.Unit(geom.Sub(to, from))))
	via := geom.Add(geom.Lerp(from, to, 0.5), geom.Mul(u, by))
	c, _, _ := geom.Circle(from, via, to)
	return curve{viaArc(from, via, to, c)}
}

func (p *parser) arcRound(from, to orb.Point, begin int) curve {
	c := p.point()
	r1, r2 := geom.Dist(c, from), geom.Dist(c, to)
	if math.Abs(r1-r2) > p.sc.eng.hair() {
		p.fail(begin, fmt.Sprintf("the ends lie %s and %s from the centre, so no arc round it joins them", num(r1), num(r2)),
			"move one of the ends, or take another centre")
	}
	s := arcSeg(from, to, geom.ArcCentre(from, to, c))
	p.sign(',')
	if p.take("the long way") {
		if s.sweep > 0 {
			s.sweep -= 2 * math.Pi
		} else {
			s.sweep += 2 * math.Pi
		}
	}
	return curve{s}
}

func viaArc(a, via, b, c orb.Point) seg {
	s := arcSeg(a, b, c)
	if (geom.Cross(geom.Sub(b, a), geom.Sub(via, a)) > 0) == (s.sweep > 0) {
		// The short way lies to the other side of the chord than the point.
		if s.sweep > 0 {
			s.sweep -= 2 * math.Pi
		} else {
			s.sweep += 2 * math.Pi
		}
	}
	return s
}

// leavingArc is the arc from a to b that leaves in direction u; a line where that is straight.
func (p *parser) leavingArc(a, b, u orb.Point, begin int) seg {
	chord := geom.Sub(b, a)
	half := math.Atan2(geom.Cross(u, chord), geom.Dot(u, chord))
	if math.Abs(half) < 1e-12 {
		return lineSeg(a, b)
	}
	if math.Abs(half) > math.Pi*0.999 {
		p.fail(begin, "the arc would have to leave away from its end", "")
	}
	r := geom.Norm(chord) / 2 / math.Sin(half)
	return seg{a: a, b: b, centre: geom.Add(a, geom.Mul(geom.Left(u), r)), sweep: 2 * half}
}

// twoArcs reads "P to Q, leaving W, arriving W, radius 3": a wide arc and a tight one that touch.
func (p *parser) twoArcs(from orb.Point, begin int) curve {
	p.want("to", " and the point where the second arc ends")
	to := p.point()
	p.sign(',')
	p.want("leaving", " and the way in which the first arc leaves")
	d := p.way(from, to, from)
	p.sign(',')
	p.want("arriving", " and the way in which the second arc arrives")
	e := p.way(from, to, to)
	p.sign(',')
	p.want("radius", " and the radius of the second arc")
	r := p.sum()
	if r <= 0 {
		p.fail(begin, "a radius of "+num(r)+" for the second arc", "a radius is more than 0")
	}
	side := 1.0
	if geom.Cross(d, e) < 0 {
		side = -1
	}
	m := geom.Mul(geom.Left(d), side)
	c2 := geom.Add(to, geom.Mul(geom.Left(e), side*r))
	w := geom.Sub(from, c2)
	den := 2 * (geom.Dot(w, m) + r)
	big := (r*r - geom.Dot(w, w)) / den
	if den == 0 || big <= 0 {
		p.fail(begin, fmt.Sprintf("no arc leaves %s that way and touches the arc of radius %s at %s", spot(from), num(r), spot(to)),
			"make the radius smaller, or move one of the ends")
	}
	c1 := geom.Add(from, geom.Mul(m, big))
	j := geom.Add(c1, geom.Mul(geom.Unit(geom.Sub(c2, c1)), big*sign(big-r)))
	first, second := arcSeg(from, j, c1), arcSeg(j, to, c2)
	if first.sweep*side < 0 || second.sweep*side < 0 {
		p.fail(begin, fmt.Sprintf("the two arcs touch at %s, which does not lie between the ends", spot(j)), "make the radius smaller, or move one of the ends")
	}
	return curve{first, second}
}

func sign(v float64) float64 {
	if v < 0 {
		return -1
	}
	return 1
}
