package drafting

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sentence"
)

// curveSentence reads an edge: lines, arcs and curves in a row, joined by "then".
func (p *Parser) curveSentence() curve.Curve {
	var out curve.Curve
	for {
		begin := p.At
		verb := p.TakeAny("two arcs", "line", "arc", "curve")
		if verb == "" {
			p.Fail(p.At, p.Seen()+" is no stretch of an edge", "say line, arc, curve or two arcs")
		}
		var from orb.Point
		if len(out) > 0 {
			from = out.End()
			p.sameJoint(from, verb)
		} else {
			p.Take("from")
			from = p.Point()
		}
		var c curve.Curve
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
		p.Sign(',')
		if !p.Take("then") {
			break
		}
	}
	if len(out) == 0 || out.Length() < 1e-9 {
		p.Fail(0, "this edge has no length", "")
	}
	return out
}

// sameJoint lets the point be named again at which the stretch before ended.
func (p *Parser) sameJoint(from orb.Point, verb string) {
	if p.Is("to") >= 0 || p.Is("through") >= 0 {
		return
	}
	p.Space()
	at := p.At
	p.Take("from")
	if q := p.Point(); geom.Dist(q, from) > p.Scope.Draft.Hair() {
		p.Fail(at, "what follows then begins where the stretch before it ends, at "+FormatPoint(from), "say "+verb+" to and the next point")
	}
}

// lineChain reads "A to B to C, softened at B 6".
func (p *Parser) lineChain(from orb.Point) curve.Curve {
	pts := []orb.Point{from}
	for p.Take("to") {
		pts = append(pts, p.Point())
	}
	if len(pts) < 2 {
		p.Want("to", " and the point where the line ends")
	}
	cuts := make([]float64, len(pts)) // how far from the corner the arc begins
	for {
		k := p.At
		p.Sign(',')
		begin := p.At
		verb := p.TakeAny("softened at", "rounded at")
		if verb == "" {
			p.At = k
			break
		}
		i := p.corner(pts)
		if p.Is("and") >= 0 {
			p.Fail(p.At, "one corner at a time", "say it of each: rounded at C 3, rounded at D 3")
		}
		turn := curve.TurnAt(pts, i)
		switch {
		case verb == "rounded at":
			r := p.Sum()
			if r < 0 {
				p.Unfit(begin, fmt.Sprintf("a negative radius: %s", sentence.FormatNumber(r)), "the corner lies beyond the edge it should run into; look at the measures in this sum")
			}
			cuts[i] = r * math.Tan(turn/2)
		case p.Take("from"), p.Take("to"):
			cuts[i] = geom.Dist(pts[i], p.Point())
		case p.Done() || p.At < len(p.Sentence.Text) && p.Sentence.Text[p.At] == ',':
			p.Fail(begin, "how far from the corner the softening begins is not said", "add the length: "+strings.TrimSpace(string(p.Sentence.Text[begin:p.At]))+" 3")
		default:
			cuts[i] = p.Sum()
			if cuts[i] < 0 {
				p.Unfit(begin, fmt.Sprintf("it cannot begin %s from the corner", sentence.FormatNumber(cuts[i])), "")
			}
		}
		p.roomFor(pts, cuts, i, begin, verb)
	}
	return curve.Softened(pts, cuts)
}

// corner reads one of the inner points of a line.
func (p *Parser) corner(pts []orb.Point) int {
	begin := p.At
	q := p.Point()
	for i := 1; i < len(pts)-1; i++ {
		if geom.Dist(pts[i], q) < 1e-9 {
			return i
		}
	}
	p.Fail(begin, "that point is no corner of this line", "name one of the points between its ends")
	return 0
}

func (p *Parser) roomFor(pts []orb.Point, cuts []float64, i, begin int, verb string) {
	mend := "make the radius smaller, or the leg longer"
	if verb == "softened at" {
		mend = "begin the softening nearer to the corner, or make the leg longer"
	}
	for _, k := range []int{i - 1, i + 1} {
		if leg, need := geom.Dist(pts[i], pts[k]), cuts[i]+cuts[k]; need > leg+p.Scope.Draft.Hair() {
			p.Unfit(begin, fmt.Sprintf("the corners need %s of a leg that is only %s long", sentence.FormatNumber(need), sentence.FormatNumber(leg)), mend)
		}
	}
}

// way is a direction in which a curve from one point to another leaves or arrives at one of the two.
func (p *Parser) way(from, to, at orb.Point) orb.Point {
	begin := p.At
	var u orb.Point
	exact := false
	switch p.TakeAny("level", "plumb", "out", "back", "up", "down", "square to the centre", "square to", "toward", "towards", "along") {
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
		u, exact = p.heading(at, p.Point(), begin), true
	default:
		p.Fail(p.At, p.Seen()+" is no way to leave or arrive", "say level, plumb, square to two points, along two points, or toward a point")
	}
	if exact {
		return u
	}
	if p.Is("out") >= 0 || p.Is("back") >= 0 || p.Is("up") >= 0 || p.Is("down") >= 0 {
		return p.side(u)
	}
	d := geom.Dot(u, geom.Unit(geom.Sub(to, from)))
	if math.Abs(d) < 1e-6 {
		p.Fail(begin, "this way runs square to the edge itself, so it may be meant to either side", "add out, back, up or down")
	}
	if d < 0 {
		return geom.Mul(u, -1)
	}
	return u
}

// arc reads "P to Q round C" and its other forms.
func (p *Parser) arc(from orb.Point, begin int) curve.Curve {
	var through orb.Point
	has := false
	if p.Take("through") {
		through, has = p.Point(), true
	}
	p.Want("to", " and the point where the arc ends")
	to := p.Point()
	if has {
		c, _, ok := geom.Circle(from, through, to)
		if !ok {
			p.Fail(begin, "the three points lie on a line, so no arc runs through them", "")
		}
		return curve.Curve{curve.ArcVia(from, through, to, c)}
	}
	p.Sign(',')
	switch p.TakeAny("round", "about", "centre", "leaving", "arriving", "bowed") {
	case "round", "about", "centre":
		return p.arcRound(from, to, begin)
	case "bowed":
		return p.bowed(from, to, begin)
	case "leaving":
		return curve.Curve{p.leavingArc(from, to, p.way(from, to, from), begin)}
	case "arriving":
		w := p.way(from, to, to)
		return curve.Curve{p.leavingArc(to, from, geom.Mul(w, -1), begin).Reversed()}
	}
	p.Fail(p.At, "how the arc runs is not said", "add round and its centre, leaving or arriving and a way, bowed 0.5 out, or through and a point before to")
	return nil
}

// bowed reads "0.5 out": the arc that stands so far off the straight line at its middle.
func (p *Parser) bowed(from, to orb.Point, begin int) curve.Curve {
	by := p.Sum()
	if by <= 0 || geom.Dist(from, to) < 1e-9 {
		p.Fail(begin, "an arc bowed "+sentence.FormatNumber(by)+" over "+sentence.FormatNumber(geom.Dist(from, to)), "say more than 0, and to which side: out, back, up or down")
	}
	u := p.side(geom.Left(geom.Unit(geom.Sub(to, from))))
	via := geom.Add(geom.Lerp(from, to, 0.5), geom.Mul(u, by))
	c, _, _ := geom.Circle(from, via, to)
	return curve.Curve{curve.ArcVia(from, via, to, c)}
}

func (p *Parser) arcRound(from, to orb.Point, begin int) curve.Curve {
	c := p.Point()
	r1, r2 := geom.Dist(c, from), geom.Dist(c, to)
	if math.Abs(r1-r2) > p.Scope.Draft.Hair() {
		p.Fail(begin, fmt.Sprintf("the ends lie %s and %s from the centre, so no arc round it joins them", sentence.FormatNumber(r1), sentence.FormatNumber(r2)),
			"move one of the ends, or take another centre")
	}
	s := curve.ArcSeg(from, to, geom.ArcCentre(from, to, c))
	p.Sign(',')
	if p.Take("the long way") {
		if s.Sweep > 0 {
			s.Sweep -= 2 * math.Pi
		} else {
			s.Sweep += 2 * math.Pi
		}
	}
	return curve.Curve{s}
}

// leavingArc is the arc from a to b that leaves in direction u; a line where that is straight.
func (p *Parser) leavingArc(a, b, u orb.Point, begin int) curve.Segment {
	chord := geom.Sub(b, a)
	half := math.Atan2(geom.Cross(u, chord), geom.Dot(u, chord))
	if math.Abs(half) < 1e-12 {
		return curve.LineSeg(a, b)
	}
	if math.Abs(half) > math.Pi*0.999 {
		p.Fail(begin, "the arc would have to leave away from its end", "")
	}
	r := geom.Norm(chord) / 2 / math.Sin(half)
	return curve.Segment{From: a, To: b, Centre: geom.Add(a, geom.Mul(geom.Left(u), r)), Sweep: 2 * half}
}

// twoArcs reads "P to Q, leaving W, arriving W, radius 3": a wide arc and a tight one that touch.
func (p *Parser) twoArcs(from orb.Point, begin int) curve.Curve {
	p.Want("to", " and the point where the second arc ends")
	to := p.Point()
	p.Sign(',')
	p.Want("leaving", " and the way in which the first arc leaves")
	d := p.way(from, to, from)
	p.Sign(',')
	p.Want("arriving", " and the way in which the second arc arrives")
	e := p.way(from, to, to)
	p.Sign(',')
	p.Want("radius", " and the radius of the second arc")
	r := p.Sum()
	if r <= 0 {
		p.Unfit(begin, "a radius of "+sentence.FormatNumber(r)+" for the second arc", "a radius is more than 0")
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
		p.Unfit(begin, fmt.Sprintf("no arc leaves %s that way and touches the arc of radius %s at %s", FormatPoint(from), sentence.FormatNumber(r), FormatPoint(to)),
			"make the radius smaller, or move one of the ends")
	}
	c1 := geom.Add(from, geom.Mul(m, big))
	j := geom.Add(c1, geom.Mul(geom.Unit(geom.Sub(c2, c1)), big*curve.Sign(big-r)))
	first, second := curve.ArcSeg(from, j, c1), curve.ArcSeg(j, to, c2)
	if first.Sweep*side < 0 || second.Sweep*side < 0 {
		p.Unfit(begin, fmt.Sprintf("the two arcs touch at %s, which does not lie between the ends", FormatPoint(j)), "make the radius smaller, or move one of the ends")
	}
	return curve.Curve{first, second}
}
