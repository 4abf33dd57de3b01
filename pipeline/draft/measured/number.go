package measured

import (
	"math"
	"strconv"
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
		case p.sign('+'):
			v += p.product()
		case p.sign('-'):
			v -= p.product()
		default:
			return v
		}
	}
}

func (p *parser) sign(r rune) bool {
	p.space()
	if p.i < len(p.s.text) && p.s.text[p.i] == r {
		p.i++
		return true
	}
	return false
}

func (p *parser) product() float64 {
	v := p.factor()
	for {
		switch {
		case p.sign('*'), p.take("times"):
			v *= p.factor()
		case p.sign('/'):
			at := p.i
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

// functions are the words of arithmetic over what has been drawn.
var functions = []string{"distance", "length of", "sewn length of", "out of", "down of", "half", "root of", "pi", "width of", "radius of", "larger of", "smaller of"}

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
	case p.i < len(p.s.text) && (unicode.IsDigit(p.s.text[p.i]) || fraction(p.s.text[p.i]) > 0 || p.s.text[p.i] == '.'):
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
	switch p.takeAny(functions...) {
	case "distance":
		a := p.point()
		p.want("to", " in a distance from one point to another")
		return geom.Dist(a, p.point())
	case "length of":
		return p.curve().length()
	case "sewn length of":
		pc, i := p.pieceEdge()
		return pc.worn[i].c.length()
	case "out of":
		return p.point()[0]
	case "down of":
		return p.point()[1]
	case "half":
		return p.factor() / 2
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
		return p.widthAt()
	case "radius of":
		return p.radiusOf()
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
		verbs := append(append([]string(nil), pointVerbs...), curveVerbs...)
		if n := nearest(p.word(), verbs); strings.HasPrefix(n, "did") {
			p.fail(at, quote(p.word())+" is no word that begins a sentence", n)
		}
	}
	p.unknown(at, isNumber)
	return 0
}

// fraction is the value of a sign such as ½, 0 for any other.
func fraction(r rune) float64 {
	switch r {
	case '½':
		return 0.5
	case '¼':
		return 0.25
	case '¾':
		return 0.75
	case '⅛':
		return 0.125
	case '⅜':
		return 0.375
	case '⅝':
		return 0.625
	case '⅞':
		return 0.875
	case '⅓':
		return 1.0 / 3
	case '⅔':
		return 2.0 / 3
	}
	return 0
}

// number reads a number as people write it - 5, 5.12, 1/2, 2 1/2, 5½ - and the unit after it, if it
// is not the draft's own.
func (p *parser) number() float64 {
	at := p.i
	v, whole := p.digits()
	text := p.s.text
	switch {
	case p.i < len(text) && text[p.i] == ',' && p.i+1 < len(text) && unicode.IsDigit(text[p.i+1]):
		p.fail(p.i, "a comma inside a number", "write "+string(text[at:p.i])+"."+string(text[p.i+1])+" with a point, or a space after the comma")
	case whole && p.i < len(text) && text[p.i] == '-' && isFractionAt(text, p.i+1):
		p.fail(at, "this can be read as "+string(text[at:p.i])+" and a fraction, or as a subtraction", "write a space between: "+string(text[at:p.i])+" 1/2, or spaces round the minus")
	case p.i < len(text) && fraction(text[p.i]) > 0:
		v += fraction(text[p.i])
		p.i++
	case whole && isFractionAt(text, p.i):
		v = p.over(v)
	case whole && p.i < len(text) && text[p.i] == ' ':
		k := p.i
		for k < len(text) && text[k] == ' ' {
			k++
		}
		if k < len(text) && unicode.IsDigit(text[k]) {
			e := k
			for e < len(text) && unicode.IsDigit(text[e]) {
				e++
			}
			if isFractionAt(text, e) {
				p.i = k
				top, _ := p.digits()
				v += p.over(top)
			}
		}
	}
	return v * p.unit()
}

// isFractionAt tells whether a stroke and a whole number stand at i, or for a minus the digits
// before them.
func isFractionAt(text []rune, i int) bool {
	for i < len(text) && unicode.IsDigit(text[i]) {
		i++
	}
	if i+1 >= len(text) || text[i] != '/' || !unicode.IsDigit(text[i+1]) {
		return false
	}
	i++
	for i < len(text) && unicode.IsDigit(text[i]) {
		i++
	}
	return i >= len(text) || text[i] != '.'
}

// over reads the stroke and what stands below it.
func (p *parser) over(top float64) float64 {
	p.i++ // the stroke
	at := p.i
	d, _ := p.digits()
	if d == 0 {
		p.fail(at, "a fraction with nothing below the stroke", "")
	}
	return top / d
}

func (p *parser) digits() (v float64, whole bool) {
	from := p.i
	dots := 0
	for p.i < len(p.s.text) && (unicode.IsDigit(p.s.text[p.i]) || p.s.text[p.i] == '.') {
		if p.s.text[p.i] == '.' {
			dots++
		}
		p.i++
	}
	if p.i == from {
		return 0, true
	}
	v, err := strconv.ParseFloat(string(p.s.text[from:p.i]), 64)
	if err != nil {
		p.fail(from, quote(string(p.s.text[from:p.i]))+" is no number", "")
	}
	return v, dots == 0
}

var units = map[string]float64{"mm": 1, "cm": 10, "in": 25.4}

// unit takes the unit after a number and gives what one of it is in the draft's own.
func (p *parser) unit() float64 {
	own := p.sc.eng.unitMM
	for _, u := range []string{"mm", "cm", "in"} {
		if p.take(u) {
			return units[u] / own
		}
	}
	if p.i < len(p.s.text) && p.s.text[p.i] == '"' {
		p.i++
		return 25.4 / own
	}
	return 1
}

// num writes a number for people: as many digits as matter.
func num(v float64) string {
	s := strconv.FormatFloat(v, 'f', 3, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		s = "0"
	}
	return s
}

// widthAt is how wide a drawing is at a point's level, as worn: "width of front at P".
func (p *parser) widthAt() float64 {
	at := p.i
	name, ok := p.name(p.sc.eng.drawOrder)
	if !ok {
		p.fail(at, quote(p.phrase())+" is no drawing", nearest(p.word(), p.sc.eng.drawOrder))
	}
	p.want("at", " and the point at whose level it is measured")
	pt := p.point()
	out := p.sc.eng.outlineOf(name, p, at)
	var xs []float64
	for _, pl := range out.meets(pt, orb.Point{1, 0}) {
		xs = append(xs, out[pl.i].at(pl.t)[0])
	}
	if len(xs) < 2 {
		p.fail(at, "the level of that point does not cross "+name, "")
	}
	lo, hi := xs[0], xs[0]
	for _, x := range xs {
		lo, hi = math.Min(lo, x), math.Max(hi, x)
	}
	return hi - lo
}
