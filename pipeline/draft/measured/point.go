package measured

import (
	"fmt"
	"math"
	"strings"
	"unicode"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// pointSentence tells a point from others.
func (p *parser) pointSentence() orb.Point {
	switch p.takeAny(pointVerbs...) {
	case "start":
		return orb.Point{}
	case "from":
		return p.steps(p.point())
	case "half-way", "halfway", "half way":
		p.takeAny("from", "between")
		a := p.point()
		if !p.take("and") {
			p.want("to", " in half-way from one point to another")
		}
		return geom.Lerp(a, p.point(), 0.5)
	case "where":
		return p.where()
	case "along":
		return p.along()
	case "swung":
		return p.swung()
	case "carried":
		return p.carried()
	case "mirrored":
		pt := p.point()
		p.want("in", " and the line in which the point is mirrored")
		l := p.locus()
		if l.circle || l.edge != nil {
			p.fail(p.i, "a point is mirrored in a straight line only", "")
		}
		return geom.MirrorLine(l.p, geom.Add(l.p, l.u)).Apply(pt)
	case "turned":
		return p.turned()
	}
	if !p.done() && (unicode.IsDigit(p.s.text[p.i]) || vulgar[p.s.text[p.i]] > 0) {
		return p.shareOfTheWay()
	}
	p.fail(p.i, "a point is told from others, beginning with one of: "+list(pointVerbs), "")
	return orb.Point{}
}

// shareOfTheWay reads "1/3 of the way from P to Q".
func (p *parser) shareOfTheWay() orb.Point {
	v, _ := p.digits()
	switch {
	case isStroke(p.runeAt(p.i)):
		v = p.over(v)
	case vulgar[p.runeAt(p.i)] > 0:
		v = vulgar[p.s.text[p.i]]
		p.i++
	}
	p.want("of the way", "")
	p.takeAny("from", "between")
	a := p.point()
	if p.takeAny("to", "and") == "" {
		p.want("to", " in a share of the way from one point to another")
	}
	return geom.Lerp(a, p.point(), v)
}

func list(words []string) string {
	s := ""
	for i, w := range words {
		if i > 0 {
			s += ", "
		}
		s += w
	}
	return s
}

var stepVerbs = []string{"out", "back", "up", "down", "falling", "rising", "toward", "towards", "away from", "square to", "by"}

// steps goes on from a point, step by step.
func (p *parser) steps(at orb.Point) orb.Point {
	here := at
	for first := true; ; first = false {
		p.sign(',')
		if p.done() {
			if first {
				p.fail(p.i, "where to from there is not said", "go on with one of: "+list(stepVerbs))
			}
			return here
		}
		begin := p.i
		switch p.takeAny(stepVerbs...) {
		case "out":
			here[0] += p.sum()
		case "back":
			here[0] -= p.sum()
		case "up":
			here[1] -= p.sum()
		case "down":
			here[1] += p.sum()
		case "falling":
			here = geom.Add(here, p.slope(1))
		case "rising":
			here = geom.Add(here, p.slope(-1))
		case "toward", "towards":
			q := p.point()
			here = geom.Add(here, geom.Mul(p.heading(here, q, begin), p.sum()))
		case "away from":
			q := p.point()
			here = geom.Sub(here, geom.Mul(p.heading(here, q, begin), p.sum()))
		case "square to":
			u := p.between(begin)
			v := p.side(geom.Left(u))
			here = geom.Add(here, geom.Mul(v, p.sum()))
		case "by":
			a := p.point()
			p.want("to", " in by one point to another")
			here = geom.Add(here, geom.Sub(p.point(), a))
		default:
			w := p.word()
			mend := nearest(w, stepVerbs)
			switch {
			case w == "left" || w == "right" || w == "in":
				mend = "say out or back: a half may be either side, and in is inches"
			case w != "" && unicode.IsDigit([]rune(w)[0]):
				mend = "the way comes before its length: down 4"
			}
			p.fail(p.i, p.seen()+" is no step", mend)
		}
	}
}

func (p *parser) heading(a, b orb.Point, begin int) orb.Point {
	u := geom.Unit(geom.Sub(b, a))
	if u == (orb.Point{}) {
		p.fail(begin, "the two points are one and the same, at "+spot(a)+": there is no way from one toward the other", "")
	}
	return u
}

// between reads two points and gives the direction from one to the other.
func (p *parser) between(begin int) orb.Point {
	a := p.point()
	p.take("to")
	return p.heading(a, p.point(), begin)
}

// side turns a direction to the side that is named.
func (p *parser) side(v orb.Point) orb.Point {
	axis := 0.0
	switch p.takeAny("out", "back", "up", "down") {
	case "out":
		axis = v[0]
	case "back":
		axis = -v[0]
	case "up":
		axis = -v[1]
	case "down":
		axis = v[1]
	default:
		p.fail(p.i, "to which side is not said", "say out, back, up or down")
	}
	if axis < 0 {
		return geom.Mul(v, -1)
	}
	return v
}

// slope reads "falling 3 for every 8, out 5" (5 level) or "falling 3 for every 8, 5" (5 along it).
func (p *parser) slope(down float64) orb.Point {
	fall := p.sum()
	if p.is("for every") < 0 && strings.HasSuffix(strings.TrimSpace(string(p.s.text[:p.i])), " in") {
		p.fail(p.i, "in is inches here, and a slope is so much for every so much", "say falling 2 for every 5")
	}
	p.want("for every", " in so much for every so much")
	run := p.sum()
	if run == 0 {
		p.fail(p.i, "a slope for every 0 has no direction", "")
	}
	p.sign(',')
	along := orb.Point{run, down * fall}
	switch p.takeAny("out", "back") {
	case "out":
		return geom.Mul(along, p.sum()/run)
	case "back":
		return geom.Mul(along, -p.sum()/run)
	}
	if p.done() {
		p.fail(p.i, "how far along the slope is not said", "add the length, or out and how far out")
	}
	return geom.Mul(geom.Unit(along), p.sum())
}

// locus is a line drawn on without end, an edge as drawn, or a circle.
type locus struct {
	p, u   orb.Point
	circle bool
	c      orb.Point
	r      float64
	edge   curve
	name   string
}

func (p *parser) locus() locus {
	p.space()
	begin := p.i
	name := func() string { return string(p.s.text[begin:p.i]) }
	switch p.takeAny("line", "square to", "plumb through", "plumb from", "level through", "level with", "circle round", "falling") {
	case "line":
		a := p.point()
		p.take("to")
		return locus{p: a, u: p.heading(a, p.point(), begin), name: name()}
	case "square to":
		u := p.between(begin)
		p.want("at", " and the point through which it runs")
		return locus{p: p.point(), u: geom.Left(u), name: name()}
	case "plumb through", "plumb from":
		return locus{p: p.point(), u: orb.Point{0, 1}, name: name()}
	case "level through", "level with":
		return locus{p: p.point(), u: orb.Point{1, 0}, name: name()}
	case "falling":
		fall := p.sum()
		p.want("for every", "")
		u := orb.Point{p.sum(), fall}
		p.want("through", "")
		return locus{p: p.point(), u: geom.Unit(u), name: name()}
	case "circle round":
		l := locus{circle: true, c: p.point()}
		if p.take("through") {
			l.r = geom.Dist(l.c, p.point())
		} else {
			p.want("radius", " or through and a point")
			l.r = p.sum()
			if l.r <= 0 {
				p.fail(begin, "the circle's radius is "+num(l.r), "a radius is more than 0")
			}
		}
		l.name = name()
		return l
	}
	c := p.curve()
	return locus{edge: c, name: name()}
}

// where is the point at which two lines meet; among several, one is chosen by a word.
func (p *parser) where() orb.Point {
	begin := p.i
	a := p.locus()
	if !p.take("crosses") {
		p.want("meets", " and the second line")
	}
	b := p.locus()
	found := meetings(a, b)
	if len(found) == 0 {
		mend := ""
		if a.edge != nil || b.edge != nil {
			mend = "an edge ends where it is drawn; line and two points, plumb through or level through go on without end"
		}
		p.fail(begin, fmt.Sprintf("%s and %s do not meet%s", a.name, b.name, apart(a, b)), mend)
	}
	p.sign(',')
	pick := func(better func(x, y orb.Point) bool) orb.Point {
		best := found[0]
		for _, q := range found[1:] {
			if better(q, best) {
				best = q
			}
		}
		return best
	}
	p.take("the")
	switch p.takeAny("upper", "lower", "outer", "inner") {
	case "upper":
		return pick(func(x, y orb.Point) bool { return x[1] < y[1] })
	case "lower":
		return pick(func(x, y orb.Point) bool { return x[1] > y[1] })
	case "outer":
		return pick(func(x, y orb.Point) bool { return x[0] > y[0] })
	case "inner":
		return pick(func(x, y orb.Point) bool { return x[0] < y[0] })
	}
	if len(found) > 1 {
		p.fail(begin, fmt.Sprintf("they meet %d times, at %s and %s", len(found), spot(found[0]), spot(found[1])),
			"say which at the end: the upper, lower, outer or inner")
	}
	return found[0]
}

// apart tells by how much two circles, or a line and a circle, miss each other.
func apart(a, b locus) string {
	switch {
	case a.circle && b.circle:
		return fmt.Sprintf(": the radii are %s and %s, the centres %s apart", num(a.r), num(b.r), num(geom.Dist(a.c, b.c)))
	case a.edge == nil && b.edge == nil && (a.circle || b.circle):
		if a.circle {
			a, b = b, a
		}
		return fmt.Sprintf(": the line passes %s from the centre, the radius is %s", num(math.Abs(geom.Cross(a.u, geom.Sub(b.c, a.p)))), num(b.r))
	case !a.circle && !b.circle && a.edge == nil && b.edge == nil:
		return ": they are parallel"
	}
	return ""
}

func meetings(a, b locus) []orb.Point {
	switch {
	case a.edge != nil && b.edge != nil || a.edge != nil && b.circle || b.edge != nil && a.circle:
		return meetFine(a, b)
	case a.edge != nil:
		var out []orb.Point
		for _, pl := range a.edge.meets(b.p, b.u) {
			out = append(out, a.edge[pl.i].at(pl.t))
		}
		return out
	case b.edge != nil:
		return meetings(b, a)
	case a.circle && b.circle:
		return geom.MeetCircles(a.c, a.r, b.c, b.r)
	case a.circle:
		return geom.MeetLineCircle(b.p, geom.Add(b.p, b.u), a.c, a.r)
	case b.circle:
		return meetings(b, a)
	}
	if at, _, _, ok := geom.MeetLines(a.p, a.u, b.p, b.u); ok {
		return []orb.Point{at}
	}
	return nil
}

func spot(p orb.Point) string { return "(" + num(p[0]) + " out, " + num(p[1]) + " down)" }
