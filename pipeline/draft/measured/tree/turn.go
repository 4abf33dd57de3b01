package tree

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
)

// along is a point on an edge, by the length from one of its ends: "along side 12 from U".
func (p *Parser) along() Point {
	begin := p.At
	edge := p.Edge()
	length := p.Sum()
	var end Point
	if p.Take("from") {
		end = p.Point()
	}
	return func() orb.Point {
		c, l := edge(), length()
		if end != nil {
			c = p.fromEnd(c, end(), begin)
		}
		if p.stuck() {
			return orb.Point{}
		}
		n := c.Length()
		if l < -1e-9 || l > n+1e-9 {
			p.Unfit(begin, fmt.Sprintf("%s along an edge that is %s long", p.Say(l), p.Say(n)), "")
		}
		at, _ := c.At(l)
		return at
	}
}

// fromEnd turns an edge so that it begins at the end that lies at q.
func (p *Parser) fromEnd(c curve.Curve, q orb.Point, begin int) curve.Curve {
	tol := p.Scope.Context.Hair()
	switch {
	case len(c) == 0, geom.Dist(c.Start(), q) <= tol:
		return c
	case geom.Dist(c.End(), q) <= tol:
		return c.Reversed()
	}
	p.Refuse(begin, "that point is no end of the edge: it ends at "+p.Where(c.Start())+" and "+p.Where(c.End()), "")
	return c
}

// swung moves a point about another, keeping its distance, by so much as the tape measures between
// before and after: "swung M 7/8 out about X".
func (p *Parser) swung() Point {
	begin := p.At
	from := p.Point()
	length := p.Sum()
	to, ok := compass[p.TakeAny("out", "back", "up", "down")]
	p.Want("about", " and the point about which it swings")
	about := p.Point()
	if !ok {
		p.Fail(begin, "to which side it swings is not said", "say out, back, up or down before about")
	}
	return func() orb.Point {
		m, by, x := from(), length(), about()
		l := geom.Dist(m, x)
		if math.Abs(by) > 2*l {
			p.Unfit(begin, fmt.Sprintf("it cannot swing by %s: it lies only %s from the point about which it swings", p.Say(by), p.Say(l)), "")
		}
		turn := 2 * math.Asin(by/2/l)
		a := geom.Add(x, geom.Rotate(turn).Vector(geom.Sub(m, x)))
		b := geom.Add(x, geom.Rotate(-turn).Vector(geom.Sub(m, x)))
		if geom.Dot(a, to) >= geom.Dot(b, to) {
			return a
		}
		return b
	}
}

// carried turns a point about another as a third was turned: "carried T as M to M' about X".
func (p *Parser) carried() Point {
	point := p.Point()
	p.Want("as", " and the two points that show the turn")
	before := p.Point()
	p.Want("to", "")
	after := p.Point()
	p.Want("about", "")
	about := p.Point()
	return func() orb.Point {
		q, a, b, c := point(), before(), after(), about()
		u, v := geom.Sub(a, c), geom.Sub(b, c)
		turn := math.Atan2(geom.Cross(u, v), geom.Dot(u, v))
		return geom.Add(c, geom.Rotate(turn).Vector(geom.Sub(q, c)))
	}
}

// turned moves a point along the circle about another, by a length of the arc or by an angle: "turned A 20 out round C",
// "turned A 90 degrees out round C".
func (p *Parser) turned() Point {
	begin := p.At
	from := p.Point()
	p.Space()
	at := p.At
	length := p.Sum()
	said := p.Said(at)
	degrees := p.Sign('°') || p.TakeAny("degrees", "degree") != ""
	side := p.TakeAny("out", "back")
	p.Want("round", " and the centre")
	centre := p.Point()
	if side == "" {
		p.Fail(begin, "to which side it turns is not said", "say out or back before round")
	}
	return func() orb.Point {
		a, l, c := from(), length(), centre()
		r := geom.Dist(a, c)
		turn := l / r
		if degrees {
			turn = l * math.Pi / 180
		}
		switch {
		case r < 1e-9:
			p.Refuse(begin, "the point is the centre itself", "name another point as the centre, behind round")
		case math.Abs(turn) > 2*math.Pi && degrees:
			p.Unfit(begin, sentence.FormatNumber(l)+" degrees are more than once round", "say 360 or less")
		case math.Abs(turn) > 2*math.Pi:
			p.Unfit(begin, fmt.Sprintf("%s along the arc is more than once round a circle of radius %s", p.Scope.Context.WithUnit(l), p.Scope.Context.WithUnit(r)),
				"say a shorter length; if an angle is meant, say "+said+" degrees")
		case !degrees && slices.Contains(anglesOfHabit, said) && p.Scope.Context.Unit != "in":
			p.looksLikeAngle(at, said, turn)
		}
		w := geom.Sub(a, c)
		off := geom.Left(w)[0] // out or back is where the point sets off
		if side == "out" && off < 0 || side == "back" && off > 0 {
			turn = -turn
		}
		return geom.Add(c, geom.Rotate(turn).Vector(w))
	}
}

// anglesOfHabit are figures without a unit that a person who thinks of angles writes.
var anglesOfHabit = []string{"30", "45", "60", "90", "180"}

// looksLikeAngle warns of a length along an arc that may be meant as an angle.
func (p *Parser) looksLikeAngle(at int, said string, turn float64) {
	e := p.Scope.Context
	line, column := p.Sentence.Place(at)
	text := fmt.Sprintf("the point is turned by a length of %s %s along the arc, which is %s degrees", said, e.Unit, strconv.FormatFloat(turn*180/math.Pi, 'f', 1, 64))
	for _, f := range e.Findings {
		if f.Message == text && f.Line == line {
			return // of a traced drawing
		}
	}
	f := e.Note(p.Sentence, pattern.RuleReadAssumed, pattern.Warning, text, "say "+said+" degrees if the angle is meant, or "+said+" "+e.Unit+" if the length is")
	if p.Sentence.File == e.Document.Name {
		f.Line, f.Column = line, column
	}
}
