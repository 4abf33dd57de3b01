package tree

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
)

// stretch is one line, arc or curve of an edge, from where the one before it ends.
type stretch func(from orb.Point) curve.Curve

// curveSentence reads an edge: lines, arcs and curves in a row, joined by "then".
func (p *Parser) curveSentence() Edge {
	var start Point
	var all []stretch
	for {
		begin := p.At
		verb := p.TakeAny("two arcs", "line", "arc", "curve")
		if verb == "" {
			p.Fail(p.At, p.Seen()+" is no stretch of an edge", "say line, arc, curve or two arcs")
		}
		if start != nil {
			all = append(all, p.sameJoint(verb))
		} else {
			p.Take("from")
			start = p.Point()
		}
		switch verb {
		case "line":
			all = append(all, p.lineChain())
		case "arc":
			all = append(all, p.arc(begin))
		case "curve":
			all = append(all, p.smooth(begin))
		case "two arcs":
			all = append(all, p.twoArcs(begin))
		}
		p.Sign(',')
		if !p.Take("then") {
			break
		}
	}
	return func() curve.Curve {
		var out curve.Curve
		from := start()
		for _, s := range all {
			out = append(out, s(from)...)
			if p.stuck() {
				return nil
			}
			if len(out) > 0 {
				from = out.End()
			}
		}
		if len(out) == 0 || out.Length() < 1e-9 {
			p.Refuse(0, "this edge has no length", "end it at another point, or look at how its points are told: they lie in one place")
		}
		return out
	}
}

// sameJoint lets the point be named again at which the stretch before ended. It adds nothing to the edge.
func (p *Parser) sameJoint(verb string) stretch {
	nothing := func(orb.Point) curve.Curve { return nil }
	if p.Is("to") >= 0 || p.Is("through") >= 0 {
		return nothing
	}
	p.Space()
	at := p.At
	p.Take("from")
	q := p.Point()
	return func(from orb.Point) curve.Curve {
		if geom.Dist(q(), from) > p.Scope.Context.Hair() {
			p.Refuse(at, "what follows then begins where the stretch before it ends, at "+p.Where(from), "say "+verb+" to and the next point")
		}
		return nil
	}
}

// lineChain reads "A to B to C, softened at B 6".
func (p *Parser) lineChain() stretch {
	var to []Point
	for p.Take("to") {
		to = append(to, p.Point())
	}
	if len(to) == 0 {
		p.Want("to", " and the point where the line ends")
	}
	var corners []func(pts []orb.Point, cuts []float64)
	for {
		k := p.At
		p.Sign(',')
		begin := p.At
		verb := p.TakeAny("softened at", "rounded at")
		if verb == "" {
			if w := p.Word(); w == "rounded" || w == "softened" {
				p.noCorner(w, len(to))
			}
			p.At = k
			break
		}
		corners = append(corners, p.corner(begin, verb))
	}
	return func(from orb.Point) curve.Curve {
		pts := []orb.Point{from}
		for _, q := range to {
			pts = append(pts, q())
		}
		cuts := make([]float64, len(pts)) // how far from the corner the arc begins
		for _, c := range corners {
			if c(pts, cuts); p.stuck() {
				break
			}
		}
		if p.stuck() {
			return nil
		}
		return curve.Softened(pts, cuts)
	}
}

// noCorner refuses "rounded 4", which does not say at which of a line's corners.
func (p *Parser) noCorner(word string, to int) {
	begin := p.At
	p.Take(word)
	far := p.After()
	switch {
	case far == "":
		far = " and the corner, and how far"
	case to > 1 && len(p.Uses) > 1:
		far = " at " + string(p.Sentence.Text[p.Uses[len(p.Uses)-2].From:p.Uses[len(p.Uses)-2].To]) + " " + far
	default:
		far = " at a point between the line's ends; a line of one stretch has no corner: line A to B to C, " + word + " at B " + far
	}
	p.Fail(begin, "at which corner the line is "+word+" is not said", "say "+word+far)
}

// corner reads "B 6", one of the inner points of a line and how far it is softened or rounded.
func (p *Parser) corner(begin int, verb string) func(pts []orb.Point, cuts []float64) {
	at := p.At
	point := p.Point()
	if p.Is("and") >= 0 {
		p.Fail(p.At, "one corner at a time", "say it of each: rounded at C 3, rounded at D 3")
	}
	var legPoint Point
	var size Number
	switch {
	case verb == "softened at" && p.TakeAny("from", "to") != "":
		legPoint = p.Point()
	case verb == "softened at" && (p.Done() || p.Sentence.Text[p.At] == ','):
		p.Fail(begin, "how far from the corner the softening begins is not said", "add the length: "+p.Said(begin)+" 3")
	default:
		size = p.Sum()
	}
	return func(pts []orb.Point, cuts []float64) {
		q := point()
		i := 1 + slices.IndexFunc(pts[1:len(pts)-1], func(c orb.Point) bool { return geom.Dist(c, q) < 1e-9 })
		if i == 0 {
			p.Refuse(at, "that point is no corner of this line", "name one of the points between its ends")
			return
		}
		switch {
		case legPoint != nil:
			cuts[i] = geom.Dist(pts[i], legPoint())
		case verb == "rounded at":
			r := size()
			if r < 0 {
				p.Unfit(begin, fmt.Sprintf("a negative radius: %s", p.Say(r)), "the corner lies beyond the edge it should run into; look at the measures in this sum")
			}
			cuts[i] = r * math.Tan(curve.TurnAt(pts, i)/2)
		default:
			if cuts[i] = size(); cuts[i] < 0 {
				p.Unfit(begin, fmt.Sprintf("it cannot begin %s from the corner", p.Say(cuts[i])), "")
			}
		}
		p.roomFor(pts, cuts, i, begin, verb)
	}
}

func (p *Parser) roomFor(pts []orb.Point, cuts []float64, i, begin int, verb string) {
	mend := "make the radius smaller, or the leg longer"
	if verb == "softened at" {
		mend = "begin the softening nearer to the corner, or make the leg longer"
	}
	for _, k := range []int{i - 1, i + 1} {
		if leg, need := geom.Dist(pts[i], pts[k]), cuts[i]+cuts[k]; need > leg+p.Scope.Context.Hair() {
			p.Unfit(begin, fmt.Sprintf("the corners need %s of a leg that is only %s long", p.Say(need), p.Say(leg)), mend)
		}
	}
}

// way is a direction in which a curve from one point to another leaves or arrives at one of the two.
type way func(from, to, at orb.Point) orb.Point

func (p *Parser) way() way {
	begin := p.At
	var line Point
	verb := p.TakeAny("level", "plumb", "out", "back", "up", "down", "square to the centre", "square to", "toward", "towards", "along")
	switch verb {
	case "level", "square to the centre":
		line = func() orb.Point { return orb.Point{1, 0} }
	case "plumb":
		line = func() orb.Point { return orb.Point{0, 1} }
	case "out", "back", "up", "down":
		return func(_, _, _ orb.Point) orb.Point { return compass[verb] }
	case "square to":
		u := p.between(begin)
		line = func() orb.Point { return geom.Left(u()) }
	case "along":
		u := p.between(begin)
		return func(_, _, _ orb.Point) orb.Point { return u() }
	case "toward", "towards":
		q := p.Point()
		return func(_, _, at orb.Point) orb.Point { return p.heading(at, q(), begin) }
	default:
		p.Fail(p.At, p.Seen()+" is no way to leave or arrive", "say level, plumb, square to two points, along two points, or toward a point")
	}
	for word := range compass {
		if p.Is(word) >= 0 {
			side := p.side()
			return func(_, _, _ orb.Point) orb.Point { return side(line()) }
		}
	}
	return func(from, to, _ orb.Point) orb.Point {
		u := line()
		d := geom.Dot(u, geom.Unit(geom.Sub(to, from)))
		if math.Abs(d) < 1e-6 {
			p.Refuse(begin, "this way runs square to the edge itself, so it may be meant to either side", "add out, back, up or down")
		}
		if d < 0 {
			return geom.Mul(u, -1)
		}
		return u
	}
}

// arc reads "P to Q round C" and its other forms.
func (p *Parser) arc(begin int) stretch {
	var third Point
	if p.Take("through") {
		third = p.Point()
	}
	p.oneBetween(third != nil, "arc")
	p.Want("to", " and the point where the arc ends")
	end := p.Point()
	if third != nil {
		return func(from orb.Point) curve.Curve {
			through, to := third(), end()
			c, _, ok := geom.Circle(from, through, to)
			if !ok {
				p.Refuse(begin, "the three points lie on a line, so no arc runs through them", "say line to the last of them, or move the one between")
			}
			return curve.Curve{curve.ArcVia(from, through, to, c)}
		}
	}
	p.Sign(',')
	var bow func(from, to orb.Point) curve.Curve
	switch p.TakeAny("round", "about", "centre", "leaving", "arriving", "bowed") {
	case "round", "about", "centre":
		bow = p.arcRound(begin)
	case "bowed":
		bow = p.bowed(begin)
	case "leaving":
		w := p.way()
		bow = func(from, to orb.Point) curve.Curve {
			return curve.Curve{p.leavingArc(from, to, w(from, to, from), begin)}
		}
	case "arriving":
		w := p.way()
		bow = func(from, to orb.Point) curve.Curve {
			return curve.Curve{p.leavingArc(to, from, geom.Mul(w(from, to, to), -1), begin).Reversed()}
		}
	default:
		p.Fail(p.At, "how the arc runs is not said", "add round and its centre, leaving or arriving and a way, bowed 0.5 out, or through and a point before to")
	}
	return func(from orb.Point) curve.Curve { return bow(from, end()) }
}

// bowed reads "0.5 out": the arc that stands so far off the straight line at its middle.
func (p *Parser) bowed(begin int) func(from, to orb.Point) curve.Curve {
	far := p.Sum()
	side := p.side()
	return func(from, to orb.Point) curve.Curve {
		by := far()
		if by <= 0 || geom.Dist(from, to) < 1e-9 {
			p.Refuse(begin, "an arc bowed "+p.Say(by)+" over "+p.Say(geom.Dist(from, to)), "say more than 0, and to which side: out, back, up or down")
		}
		u := side(geom.Left(geom.Unit(geom.Sub(to, from))))
		via := geom.Add(geom.Lerp(from, to, 0.5), geom.Mul(u, by))
		c, _, _ := geom.Circle(from, via, to)
		return curve.Curve{curve.ArcVia(from, via, to, c)}
	}
}

func (p *Parser) arcRound(begin int) func(from, to orb.Point) curve.Curve {
	centre := p.Point()
	p.Sign(',')
	long := p.Take("the long way")
	return func(from, to orb.Point) curve.Curve {
		c := centre()
		r1, r2 := geom.Dist(c, from), geom.Dist(c, to)
		if math.Abs(r1-r2) > p.Scope.Context.Hair() {
			p.Refuse(begin, fmt.Sprintf("the ends lie %s and %s from the centre, so no arc round it joins them", p.Say(r1), p.Say(r2)),
				"move one of the ends, or take another centre")
		}
		s := curve.ArcSeg(from, to, geom.ArcCentre(from, to, c))
		switch {
		case long && s.Sweep > 0:
			s.Sweep -= 2 * math.Pi
		case long:
			s.Sweep += 2 * math.Pi
		}
		return curve.Curve{s}
	}
}

// leavingArc is the arc from a to b that leaves in direction u; a line where that is straight.
func (p *Parser) leavingArc(a, b, u orb.Point, begin int) curve.Segment {
	chord := geom.Sub(b, a)
	half := math.Atan2(geom.Cross(u, chord), geom.Dot(u, chord))
	if math.Abs(half) < 1e-12 {
		return curve.LineSeg(a, b)
	}
	if math.Abs(half) > math.Pi*0.999 {
		p.Refuse(begin, "the arc would have to leave away from its end", "say the other way: out in place of back, or up in place of down")
	}
	r := geom.Norm(chord) / 2 / math.Sin(half)
	return curve.Segment{From: a, To: b, Centre: geom.Add(a, geom.Mul(geom.Left(u), r)), Sweep: 2 * half}
}

// twoArcs reads "P to Q, leaving W, arriving W, radius 3": a wide arc and a tight one that touch.
func (p *Parser) twoArcs(begin int) stretch {
	p.Want("to", " and the point where the second arc ends")
	end := p.Point()
	p.Sign(',')
	p.Want("leaving", " and the way in which the first arc leaves")
	leaving := p.way()
	p.Sign(',')
	p.Want("arriving", " and the way in which the second arc arrives")
	arriving := p.way()
	p.Sign(',')
	p.Want("radius", " and the radius of the second arc")
	radius := p.Sum()
	return func(from orb.Point) curve.Curve {
		to := end()
		d, e := leaving(from, to, from), arriving(from, to, to)
		r := radius()
		if r <= 0 {
			p.Unfit(begin, "a radius of "+p.Say(r)+" for the second arc", "a radius is more than 0")
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
			p.Unfit(begin, fmt.Sprintf("no arc leaves %s that way and touches the arc of radius %s at %s", p.Where(from), p.Say(r), p.Where(to)),
				"make the radius smaller, or move one of the ends")
		}
		c1 := geom.Add(from, geom.Mul(m, big))
		j := geom.Add(c1, geom.Mul(geom.Unit(geom.Sub(c2, c1)), big*curve.Sign(big-r)))
		first, second := curve.ArcSeg(from, j, c1), curve.ArcSeg(j, to, c2)
		if first.Sweep*side < 0 || second.Sweep*side < 0 {
			p.Unfit(begin, fmt.Sprintf("the two arcs touch at %s, which does not lie between the ends", p.Where(j)), "make the radius smaller, or move one of the ends")
		}
		return curve.Curve{first, second}
	}
}
