package tree

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
func (p *Parser) pointSentence() Point {
	switch p.TakeAny(pointVerbs...) {
	case "start":
		return func() orb.Point { return orb.Point{} }
	case "from":
		return p.steps(p.Point())
	case "half-way", "halfway", "half way":
		p.TakeAny("from", "between")
		a := p.Point()
		if !p.Take("and") {
			p.Want("to", " in half-way from one point to another")
		}
		b := p.Point()
		return func() orb.Point { return geom.Lerp(a(), b(), 0.5) }
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
		line := p.Locus()
		at := p.At
		return func() orb.Point {
			q, l := pt(), line()
			if l.IsCircle || l.Edge != nil {
				p.Refuse(at, "a point is mirrored in a straight line only", "say line and two points, plumb through or level through")
			}
			return geom.MirrorLine(l.Point, geom.Add(l.Point, l.Along)).Apply(q)
		}
	case "turned":
		return p.turned()
	}
	if !p.Done() && (unicode.IsDigit(p.Sentence.Text[p.At]) || sentence.VulgarFractions[p.Sentence.Text[p.At]] > 0) {
		return p.shareOfTheWay()
	}
	p.Fail(p.At, "a point is told from others, beginning with one of: "+strings.Join(pointVerbs, ", "), "")
	return nil
}

// shareOfTheWay reads "1/3 of the way from P to Q".
func (p *Parser) shareOfTheWay() Point {
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
	b := p.Point()
	return func() orb.Point { return geom.Lerp(a(), b(), v) }
}

var stepVerbs = []string{"out", "back", "up", "down", "falling", "rising", "toward", "towards", "away from", "square to", "by"}

// step goes on from one place to the next.
type step func(here orb.Point) orb.Point

// steps goes on from a point, step by step.
func (p *Parser) steps(from Point) Point {
	var all []step
	for {
		p.Sign(',')
		if p.Done() {
			break
		}
		all = append(all, p.step())
	}
	if len(all) == 0 {
		p.Fail(p.At, "where to from there is not said", "go on with one of: "+strings.Join(stepVerbs, ", "))
	}
	return func() orb.Point {
		here := from()
		for _, s := range all {
			here = s(here)
		}
		return here
	}
}

func (p *Parser) step() step {
	begin := p.At
	straight := func(x, y float64) step {
		l := p.Sum()
		return func(here orb.Point) orb.Point {
			v := l()
			return orb.Point{here[0] + x*v, here[1] + y*v}
		}
	}
	toward := func(sign float64) step {
		q := p.Point()
		l := p.Sum()
		return func(here orb.Point) orb.Point {
			return geom.Add(here, geom.Mul(p.heading(here, q(), begin), sign*l()))
		}
	}
	switch p.TakeAny(stepVerbs...) {
	case "out":
		return straight(1, 0)
	case "back":
		return straight(-1, 0)
	case "up":
		return straight(0, -1)
	case "down":
		return straight(0, 1)
	case "falling":
		return p.slope(1)
	case "rising":
		return p.slope(-1)
	case "toward", "towards":
		return toward(1)
	case "away from":
		return toward(-1)
	case "square to":
		u := p.between(begin)
		side := p.side()
		l := p.Sum()
		return func(here orb.Point) orb.Point { return geom.Add(here, geom.Mul(side(geom.Left(u())), l())) }
	case "by":
		a := p.Point()
		p.Want("to", " in by one point to another")
		b := p.Point()
		return func(here orb.Point) orb.Point { return geom.Add(here, geom.Sub(b(), a())) }
	}
	w := p.Word()
	mend := sentence.Nearest(w, stepVerbs)
	switch {
	case w == "left" || w == "right" || w == "in":
		mend = "say out or back: a half may be either side, and in is inches"
	case w != "" && unicode.IsDigit([]rune(w)[0]):
		mend = "the way comes before its length: down 4"
	}
	p.Fail(p.At, p.Seen()+" is no step", mend)
	return nil
}

// heading is the direction from one point to another.
func (p *Parser) heading(a, b orb.Point, begin int) orb.Point {
	u := geom.Unit(geom.Sub(b, a))
	if u == (orb.Point{}) {
		p.Refuse(begin, "the two points are one and the same, at "+p.Where(a)+": there is no way from one toward the other", "name two points that lie apart, or look at how the two are told")
	}
	return u
}

// between reads two points and gives the direction from one to the other.
func (p *Parser) between(begin int) Point {
	a := p.Point()
	p.Take("to")
	b := p.Point()
	return func() orb.Point { return p.heading(a(), b(), begin) }
}

// side reads to which side a direction is turned.
func (p *Parser) side() step {
	to, ok := compass[p.TakeAny("out", "back", "up", "down")]
	if !ok {
		p.Fail(p.At, "to which side is not said", "say out, back, up or down")
	}
	return func(v orb.Point) orb.Point {
		if geom.Dot(v, to) < 0 {
			return geom.Mul(v, -1)
		}
		return v
	}
}

// slope reads "falling 3 for every 8, out 5" (5 level) or "falling 3 for every 8, 5" (5 along it).
func (p *Parser) slope(down float64) step {
	fall := p.Sum()
	if p.Is("for every") < 0 && strings.HasSuffix(strings.TrimSpace(string(p.Sentence.Text[:p.At])), " in") {
		p.Fail(p.At, "in is inches here, and a slope is so much for every so much", "say falling 2 for every 5")
	}
	p.Want("for every", " in so much for every so much")
	run := p.Sum()
	at := p.At
	p.Sign(',')
	level := compass[p.TakeAny("out", "back")][0]
	if level == 0 && p.Done() {
		p.Fail(p.At, "how far along the slope is not said", "add the length, or out and how far out")
	}
	length := p.Sum()
	return func(here orb.Point) orb.Point {
		along := orb.Point{run(), down * fall()}
		if along[0] == 0 {
			p.Refuse(at, "a slope for every 0 has no direction", "say more than 0 behind for every, or up or down for a plumb way")
			return here
		}
		if level != 0 {
			return geom.Add(here, geom.Mul(along, level*length()/along[0]))
		}
		return geom.Add(here, geom.Mul(geom.Unit(along), length()))
	}
}

// Locus reads a line that runs on without end, a circle, or the name of an edge.
func (p *Parser) Locus() func() curve.Locus {
	p.Space()
	begin := p.At
	read := p.locus(begin)
	name := string(p.Sentence.Text[begin:p.At])
	return func() curve.Locus {
		l := read()
		l.Name = name
		return l
	}
}

func (p *Parser) locus(begin int) func() curve.Locus {
	through := func(q, along Point) func() curve.Locus {
		return func() curve.Locus { return curve.Locus{Point: q(), Along: along()} }
	}
	constant := func(x, y float64) Point { return func() orb.Point { return orb.Point{x, y} } }
	switch p.TakeAny("line", "square to", "plumb through", "plumb from", "level through", "level with", "circle round", "falling") {
	case "line":
		a := p.Point()
		p.Take("to")
		b := p.Point()
		return through(a, func() orb.Point { return p.heading(a(), b(), begin) })
	case "square to":
		u := p.between(begin)
		p.Want("at", " and the point through which it runs")
		q := p.Point()
		return func() curve.Locus {
			along := geom.Left(u())
			return curve.Locus{Point: q(), Along: along}
		}
	case "plumb through", "plumb from":
		return through(p.Point(), constant(0, 1))
	case "level through", "level with":
		return through(p.Point(), constant(1, 0))
	case "falling":
		fall := p.Sum()
		p.Want("for every", "")
		run := p.Sum()
		p.Want("through", "")
		return through(p.Point(), func() orb.Point { return geom.Unit(orb.Point{run(), fall()}) })
	case "circle round":
		return p.circle(begin)
	}
	c := p.Edge()
	return func() curve.Locus { return curve.Locus{Edge: c()} }
}

// circle reads "C through P" or "C radius 3".
func (p *Parser) circle(begin int) func() curve.Locus {
	centre := p.Point()
	if p.Take("through") {
		q := p.Point()
		return func() curve.Locus {
			c := centre()
			return curve.Locus{IsCircle: true, Centre: c, Radius: geom.Dist(c, q())}
		}
	}
	p.Want("radius", " or through and a point")
	radius := p.Sum()
	return func() curve.Locus {
		l := curve.Locus{IsCircle: true, Centre: centre(), Radius: radius()}
		if l.Radius <= 0 {
			p.Unfit(begin, "the circle's radius is "+p.Say(l.Radius), "a radius is more than 0")
		}
		return l
	}
}

// better tells, among several points, which of two is the upper, lower, outer or inner one.
var better = map[string]func(x, y orb.Point) bool{
	"upper": func(x, y orb.Point) bool { return x[1] < y[1] },
	"lower": func(x, y orb.Point) bool { return x[1] > y[1] },
	"outer": func(x, y orb.Point) bool { return x[0] > y[0] },
	"inner": func(x, y orb.Point) bool { return x[0] < y[0] },
}

// where is the point at which two lines meet; among several, one is chosen by a word.
func (p *Parser) where() Point {
	begin := p.At
	first := p.Locus()
	if !p.Take("crosses") {
		p.Want("meets", " and the second line")
	}
	second := p.Locus()
	p.Sign(',')
	p.Take("the")
	chosen := better[p.TakeAny("upper", "lower", "outer", "inner")]
	return func() orb.Point {
		a, b := first(), second()
		if p.stuck() {
			return orb.Point{}
		}
		found := curve.Meetings(a, b)
		switch {
		case len(found) == 0:
			p.refuseApart(a, b, begin)
			return orb.Point{}
		case len(found) > 1 && chosen == nil:
			p.Refuse(begin, fmt.Sprintf("they meet %d times, at %s and %s", len(found), p.Where(found[0]), p.Where(found[1])),
				"say which at the end: the upper, lower, outer or inner")
		}
		best := found[0]
		for _, q := range found[1:] {
			if chosen != nil && chosen(q, best) {
				best = q
			}
		}
		return best
	}
}

// refuseApart refuses two lines that do not meet.
func (p *Parser) refuseApart(a, b curve.Locus, begin int) {
	mend := ""
	if a.Edge != nil || b.Edge != nil {
		mend = "an edge ends where it is drawn; line and two points, plumb through or level through go on without end"
	}
	why := apart(a, b)
	refuse := p.Unfit
	if strings.Contains(why, "parallel") { // whatever the measures are
		refuse = p.Refuse
	}
	refuse(begin, fmt.Sprintf("%s and %s do not meet%s", a.Name, b.Name, why), mend)
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
