package drafting

import (
	"fmt"
	"math"
	"strings"
	"unicode"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sentence"
)

// pointSentence tells a point from others.
func (p *Parser) pointSentence() orb.Point {
	switch p.TakeAny(pointVerbs...) {
	case "start":
		return orb.Point{}
	case "from":
		return p.steps(p.Point())
	case "half-way", "halfway", "half way":
		p.TakeAny("from", "between")
		a := p.Point()
		if !p.Take("and") {
			p.Want("to", " in half-way from one point to another")
		}
		return geom.Lerp(a, p.Point(), 0.5)
	case "where":
		return p.where()
	case "along":
		return p.along()
	case "swung":
		return p.swung()
	case "carried":
		return p.carried()
	case "mirrored":
		pt := p.Point()
		p.Want("in", " and the line in which the point is mirrored")
		l := p.Locus()
		if l.IsCircle || l.Edge != nil {
			p.Fail(p.At, "a point is mirrored in a straight line only", "")
		}
		return geom.MirrorLine(l.Point, geom.Add(l.Point, l.Along)).Apply(pt)
	case "turned":
		return p.turned()
	}
	if !p.Done() && (unicode.IsDigit(p.Sentence.Text[p.At]) || sentence.VulgarFractions[p.Sentence.Text[p.At]] > 0) {
		return p.shareOfTheWay()
	}
	p.Fail(p.At, "a point is told from others, beginning with one of: "+strings.Join(pointVerbs, ", "), "")
	return orb.Point{}
}

// shareOfTheWay reads "1/3 of the way from P to Q".
func (p *Parser) shareOfTheWay() orb.Point {
	v, _ := p.Digits()
	switch {
	case sentence.IsStroke(p.RuneAt(p.At)):
		v = p.DividedBy(v)
	case sentence.VulgarFractions[p.RuneAt(p.At)] > 0:
		v = sentence.VulgarFractions[p.Sentence.Text[p.At]]
		p.At++
	}
	p.Want("of the way", "")
	p.TakeAny("from", "between")
	a := p.Point()
	if p.TakeAny("to", "and") == "" {
		p.Want("to", " in a share of the way from one point to another")
	}
	return geom.Lerp(a, p.Point(), v)
}

var stepVerbs = []string{"out", "back", "up", "down", "falling", "rising", "toward", "towards", "away from", "square to", "by"}

// steps goes on from a point, step by step.
func (p *Parser) steps(at orb.Point) orb.Point {
	here := at
	for first := true; ; first = false {
		p.Sign(',')
		if p.Done() {
			if first {
				p.Fail(p.At, "where to from there is not said", "go on with one of: "+strings.Join(stepVerbs, ", "))
			}
			return here
		}
		begin := p.At
		switch p.TakeAny(stepVerbs...) {
		case "out":
			here[0] += p.Sum()
		case "back":
			here[0] -= p.Sum()
		case "up":
			here[1] -= p.Sum()
		case "down":
			here[1] += p.Sum()
		case "falling":
			here = geom.Add(here, p.slope(1))
		case "rising":
			here = geom.Add(here, p.slope(-1))
		case "toward", "towards":
			q := p.Point()
			here = geom.Add(here, geom.Mul(p.heading(here, q, begin), p.Sum()))
		case "away from":
			q := p.Point()
			here = geom.Sub(here, geom.Mul(p.heading(here, q, begin), p.Sum()))
		case "square to":
			u := p.between(begin)
			v := p.side(geom.Left(u))
			here = geom.Add(here, geom.Mul(v, p.Sum()))
		case "by":
			a := p.Point()
			p.Want("to", " in by one point to another")
			here = geom.Add(here, geom.Sub(p.Point(), a))
		default:
			w := p.Word()
			mend := sentence.Nearest(w, stepVerbs)
			switch {
			case w == "left" || w == "right" || w == "in":
				mend = "say out or back: a half may be either side, and in is inches"
			case w != "" && unicode.IsDigit([]rune(w)[0]):
				mend = "the way comes before its length: down 4"
			}
			p.Fail(p.At, p.Seen()+" is no step", mend)
		}
	}
}

func (p *Parser) heading(a, b orb.Point, begin int) orb.Point {
	u := geom.Unit(geom.Sub(b, a))
	if u == (orb.Point{}) {
		p.Fail(begin, "the two points are one and the same, at "+FormatPoint(a)+": there is no way from one toward the other", "")
	}
	return u
}

// between reads two points and gives the direction from one to the other.
func (p *Parser) between(begin int) orb.Point {
	a := p.Point()
	p.Take("to")
	return p.heading(a, p.Point(), begin)
}

// side turns a direction to the side that is named.
func (p *Parser) side(v orb.Point) orb.Point {
	axis := 0.0
	switch p.TakeAny("out", "back", "up", "down") {
	case "out":
		axis = v[0]
	case "back":
		axis = -v[0]
	case "up":
		axis = -v[1]
	case "down":
		axis = v[1]
	default:
		p.Fail(p.At, "to which side is not said", "say out, back, up or down")
	}
	if axis < 0 {
		return geom.Mul(v, -1)
	}
	return v
}

// slope reads "falling 3 for every 8, out 5" (5 level) or "falling 3 for every 8, 5" (5 along it).
func (p *Parser) slope(down float64) orb.Point {
	fall := p.Sum()
	if p.Is("for every") < 0 && strings.HasSuffix(strings.TrimSpace(string(p.Sentence.Text[:p.At])), " in") {
		p.Fail(p.At, "in is inches here, and a slope is so much for every so much", "say falling 2 for every 5")
	}
	p.Want("for every", " in so much for every so much")
	run := p.Sum()
	if run == 0 {
		p.Fail(p.At, "a slope for every 0 has no direction", "")
	}
	p.Sign(',')
	along := orb.Point{run, down * fall}
	switch p.TakeAny("out", "back") {
	case "out":
		return geom.Mul(along, p.Sum()/run)
	case "back":
		return geom.Mul(along, -p.Sum()/run)
	}
	if p.Done() {
		p.Fail(p.At, "how far along the slope is not said", "add the length, or out and how far out")
	}
	return geom.Mul(geom.Unit(along), p.Sum())
}

// Locus reads a line that runs on without end, a circle, or the name of an edge.
func (p *Parser) Locus() curve.Locus {
	p.Space()
	begin := p.At
	name := func() string { return string(p.Sentence.Text[begin:p.At]) }
	switch p.TakeAny("line", "square to", "plumb through", "plumb from", "level through", "level with", "circle round", "falling") {
	case "line":
		a := p.Point()
		p.Take("to")
		return curve.Locus{Point: a, Along: p.heading(a, p.Point(), begin), Name: name()}
	case "square to":
		u := p.between(begin)
		p.Want("at", " and the point through which it runs")
		return curve.Locus{Point: p.Point(), Along: geom.Left(u), Name: name()}
	case "plumb through", "plumb from":
		return curve.Locus{Point: p.Point(), Along: orb.Point{0, 1}, Name: name()}
	case "level through", "level with":
		return curve.Locus{Point: p.Point(), Along: orb.Point{1, 0}, Name: name()}
	case "falling":
		fall := p.Sum()
		p.Want("for every", "")
		u := orb.Point{p.Sum(), fall}
		p.Want("through", "")
		return curve.Locus{Point: p.Point(), Along: geom.Unit(u), Name: name()}
	case "circle round":
		l := curve.Locus{IsCircle: true, Centre: p.Point()}
		if p.Take("through") {
			l.Radius = geom.Dist(l.Centre, p.Point())
		} else {
			p.Want("radius", " or through and a point")
			l.Radius = p.Sum()
			if l.Radius <= 0 {
				p.Unfit(begin, "the circle's radius is "+sentence.FormatNumber(l.Radius), "a radius is more than 0")
			}
		}
		l.Name = name()
		return l
	}
	c := p.curve()
	return curve.Locus{Edge: c, Name: name()}
}

// where is the point at which two lines meet; among several, one is chosen by a word.
func (p *Parser) where() orb.Point {
	begin := p.At
	a := p.Locus()
	if !p.Take("crosses") {
		p.Want("meets", " and the second line")
	}
	b := p.Locus()
	found := curve.Meetings(a, b)
	if len(found) == 0 {
		mend := ""
		if a.Edge != nil || b.Edge != nil {
			mend = "an edge ends where it is drawn; line and two points, plumb through or level through go on without end"
		}
		why := apart(a, b)
		refuse := p.Unfit
		if strings.Contains(why, "parallel") { // whatever the measures are
			refuse = p.Fail
		}
		refuse(begin, fmt.Sprintf("%s and %s do not meet%s", a.Name, b.Name, why), mend)
	}
	p.Sign(',')
	pick := func(better func(x, y orb.Point) bool) orb.Point {
		best := found[0]
		for _, q := range found[1:] {
			if better(q, best) {
				best = q
			}
		}
		return best
	}
	p.Take("the")
	switch p.TakeAny("upper", "lower", "outer", "inner") {
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
		p.Fail(begin, fmt.Sprintf("they meet %d times, at %s and %s", len(found), FormatPoint(found[0]), FormatPoint(found[1])),
			"say which at the end: the upper, lower, outer or inner")
	}
	return found[0]
}

// apart tells by how much two circles, or a line and a circle, miss each other.
func apart(a, b curve.Locus) string {
	switch {
	case a.IsCircle && b.IsCircle:
		return fmt.Sprintf(": the radii are %s and %s, the centres %s apart", sentence.FormatNumber(a.Radius), sentence.FormatNumber(b.Radius), sentence.FormatNumber(geom.Dist(a.Centre, b.Centre)))
	case a.Edge == nil && b.Edge == nil && (a.IsCircle || b.IsCircle):
		if a.IsCircle {
			a, b = b, a
		}
		return fmt.Sprintf(": the line passes %s from the centre, the radius is %s", sentence.FormatNumber(math.Abs(geom.Cross(a.Along, geom.Sub(b.Centre, a.Point)))), sentence.FormatNumber(b.Radius))
	case !a.IsCircle && !b.IsCircle && a.Edge == nil && b.Edge == nil:
		return ": they are parallel"
	}
	return ""
}

// FormatPoint writes a point for people.
func FormatPoint(p orb.Point) string {
	return "(" + sentence.FormatNumber(p[0]) + " out, " + sentence.FormatNumber(p[1]) + " down)"
}
