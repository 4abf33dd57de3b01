package measured

import (
	"math"
	"strings"
	"unicode"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// sum reads arithmetic: sums of products of numbers, measures and what has been drawn. Its value is
// in the draft's unit where it is a length.
func (p *parser) sum() float64 {
	v := p.product()
	for {
		switch {
		case p.sign('+'), p.take("plus"):
			v += p.product()
		case p.sign('-'), p.sign('−'), p.take("minus"):
			v -= p.product()
		default:
			return v
		}
	}
}

func (p *parser) product() float64 {
	v := p.factor()
	for {
		switch {
		case p.sign('*'), p.sign('×'), p.take("times"):
			v *= p.factor()
		case p.sign('/'), p.sign('÷'), p.take("divided by"):
			at := p.i
			p.plainDivisor()
			d := p.factor()
			if math.Abs(d) < 1e-12 {
				p.fail(at, "this divides by nothing: what stands below the stroke is 0", "")
			}
			v /= d
		default:
			return v
		}
	}
}

// plainDivisor refuses a mixed number below a stroke: "across front/2 1/4" is more often a sum whose sign
// was forgotten.
func (p *parser) plainDivisor() {
	p.space()
	from := p.i
	defer func() { p.i = from }()
	if !unicode.IsDigit(p.runeAt(p.i)) {
		return
	}
	if _, whole := p.digits(); !whole || p.runeAt(p.i) != ' ' {
		return
	}
	end := p.i
	if p.fractionBehind() > 0 {
		whole, part := string(p.s.text[from:end]), strings.TrimSpace(string(p.s.text[end:p.i]))
		p.fail(from, "this divides by "+whole+" "+part+", or a sign is missing behind the "+whole, "write ("+whole+" "+part+") in brackets, or + or - between the two")
	}
}

// functions are the words of arithmetic over what has been drawn.
var functions = []string{"distance", "length of", "sewn length of", "out of", "down of", "half", "half of", "a third of", "a quarter of", "quarter of", "third of", "an eighth of", "root of", "pi", "width of", "sewn width of", "radius of", "larger of", "smaller of"}

func (p *parser) factor() float64 {
	p.space()
	at := p.i
	switch {
	case p.sign('-'):
		return -p.factor()
	case p.sign('('):
		v := p.sum()
		if !p.sign(')') {
			p.fail(p.i, "a closing bracket is wanted here, not "+p.seen(), "")
		}
		return v
	case p.i < len(p.s.text) && (unicode.IsDigit(p.s.text[p.i]) || vulgar[p.s.text[p.i]] > 0 || p.s.text[p.i] == '.'):
		return p.number()
	}
	if n, ok := p.name(p.sc.names(isNumber)); ok {
		end := p.i
		p.i = at
		if f, isFunc := p.name(functions); !isFunc || len([]rune(f)) <= len([]rune(n)) {
			p.i = end
			d := p.sc.find(n, isNumber)
			d.work(p, at)
			return d.n
		}
		p.i = at // the longer name is meant: length of, where there is also a length
	}
	switch f, _ := p.name(functions); f {
	case "distance":
		a := p.point()
		p.want("to", " in a distance from one point to another")
		return geom.Dist(a, p.point())
	case "length of":
		if p.ofPiece() {
			return p.sc.eng.ofPieces.EdgeLength(p)
		}
		return p.curve().length()
	case "sewn length of":
		return p.sc.eng.ofPieces.EdgeLength(p)
	case "out of":
		return p.point()[0]
	case "down of":
		return p.point()[1]
	case "half", "half of":
		return p.factor() / 2
	case "third of", "a third of":
		return p.factor() / 3
	case "quarter of", "a quarter of":
		return p.factor() / 4
	case "an eighth of":
		return p.factor() / 8
	case "root of":
		at := p.i
		v := p.factor()
		if v < 0 {
			p.fail(at, "there is no root of "+num(v), "")
		}
		return math.Sqrt(v)
	case "pi":
		return math.Pi
	case "width of":
		return p.sc.eng.ofPieces.Width(p, false)
	case "sewn width of":
		return p.sc.eng.ofPieces.Width(p, true)
	case "radius of":
		return p.sc.eng.ofPieces.Radius(p)
	case "larger of":
		a := p.factor()
		p.want("and", "")
		return math.Max(a, p.factor())
	case "smaller of":
		a := p.factor()
		p.want("and", "")
		return math.Min(a, p.factor())
	}
	if at == 0 {
		if mend := p.beginning(); mend != "" {
			p.fail(at, quote(p.word())+" is no word that begins a sentence", mend)
		}
	}
	p.unknown(at, isNumber)
	return 0
}

// ofPiece tells whether an edge that comes next is known as a piece's only: a circle's, a strip's.
func (p *parser) ofPiece() bool {
	from := p.i
	defer func() { p.i = from }()
	if _, ok := p.name(p.sc.names(isCurve)); ok {
		return false
	}
	_, ok := p.name(p.sc.eng.ofPieces.EdgeNames())
	return ok
}

// Width is how wide a drawing is at a point's level, pleats closed: "width of front at P"; sewn, without
// what its darts take there: "sewn width of front at P".
func (e *garment) Width(p *parser, sewn bool) float64 {
	at := p.i
	name, ok := p.name(p.sc.eng.drawOrder)
	if !ok {
		p.fail(at, quote(p.phrase())+" is no drawing", nearest(p.word(), p.sc.eng.drawOrder))
	}
	p.want("at", " and the point at whose level it is measured")
	own, from := p.sc, p.i
	if _, known := p.name(own.names(isPoint)); !known {
		p.sc = p.sc.eng.draws[name].sc // a point of that drawing
	}
	p.i = from
	pt := p.point()
	p.sc = own
	p.sc.eng.outlineOf(name, p, at)
	d := p.sc.eng.draws[name]
	wide := levelWidth(d.edges, pt[1])
	if sewn && d.princess.s != nil {
		wide = 0
		for _, pn := range d.divide() {
			wide += levelWidth(pn.d.edges, pt[1]) - pn.d.takenInside(pt[1])
		}
	} else if sewn {
		wide -= d.taken(pt[1])
	}
	if wide <= 0 {
		p.fail(at, "the level of that point does not cross "+name, "")
	}
	return wide
}

// levelWidth is how wide an outline is at a level, 0 where it does not reach it.
func levelWidth(edges []outlineEdge, y float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, ed := range edges {
		for _, pl := range ed.c.meets(orb.Point{0, y}, orb.Point{1, 0}) {
			x := ed.c[pl.i].at(pl.t)[0]
			lo, hi = math.Min(lo, x), math.Max(hi, x)
		}
	}
	return math.Max(0, hi-lo)
}
