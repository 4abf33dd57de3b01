package tree

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/sentence"
)

// digitsFrom are the digits that stand there.
func (p *Parser) digitsFrom(from int) string {
	to := from
	for unicode.IsDigit(p.RuneAt(to)) {
		to++
	}
	return string(p.Sentence.Text[from:to])
}

// fractionFrom is the fraction that stands there, with a plain stroke.
func (p *Parser) fractionFrom(from int) string {
	over := p.digitsFrom(from)
	return over + "/" + p.digitsFrom(from+len([]rune(over))+1)
}

// number reads a number as people write it - 5, 5.12, 1/2, 2 1/2, 5½ - and the unit after it, if it
// is not the draft's own. A part of something may be said of it: 1/4 of bust, 20% of bust.
func (p *Parser) number() Number {
	at := p.At
	v, whole := p.Digits()
	text := p.Sentence.Text
	part := false
	switch {
	case p.RuneAt(p.At) == ',' && unicode.IsDigit(p.RuneAt(p.At+1)):
		whole, behind := string(text[at:p.At]), p.digitsFrom(p.At+1)
		p.Fail(at, sentence.Quote(whole+","+behind)+" has a comma inside a number", "did you mean "+sentence.Quote(whole+"."+behind)+"? Else write a space after the comma")
	case whole && p.RuneAt(p.At) == '-' && sentence.IsFractionAt(text, p.At+1):
		p.Fail(at, "this can be read as "+string(text[at:p.At])+" and a fraction, or as a subtraction", "write a space between: "+string(text[at:p.At])+" "+p.fractionFrom(p.At+1)+", or spaces round the minus")
	case !whole && v >= 1 && sentence.IsFractionAt(text, p.At):
		p.pointForSpace(at)
	case sentence.VulgarFractions[p.RuneAt(p.At)] > 0:
		v += sentence.VulgarFractions[text[p.At]]
		part = v < 1
		p.At++
	case whole && sentence.IsFractionAt(text, p.At):
		v, part = p.DividedBy(v), true
	case p.RuneAt(p.At) == '%':
		p.At++
		v, part = v/100, true
	case whole && p.RuneAt(p.At) == ' ':
		v += p.FractionBehind()
	}
	if p.Is("of the way") >= 0 {
		p.Fail(at, "a share of the way is a point, not a number", "begin the sentence with it: 1/3 of the way from O to N")
	}
	if part && p.Take("of") {
		return times(v, p.factor())
	}
	return constant(v * p.unit())
}

// pointForSpace refuses 5.1/2, which is 5 1/2 to one who reads a tape and 5.1 divided by 2 to one who reckons: the digits
// behind the point and the stroke are a fraction of a tape.
func (p *Parser) pointForSpace(at int) {
	said := string(p.Sentence.Text[at:p.At])
	before, top, _ := strings.Cut(said, ".")
	bottom := p.digitsFrom(p.At + 1)
	if !slices.Contains([]string{"2", "4", "8", "16", "32"}, bottom) || len(top) > len(bottom) || len(top) == len(bottom) && top >= bottom {
		return
	}
	p.Fail(at, "this can be read as "+before+" and a fraction, or as a division", "write a space in place of the point: "+before+" "+top+"/"+bottom+", or spaces round the stroke: "+said+" / "+bottom)
}

func constant(v float64) Number { return func() float64 { return v } }

func times(k float64, n Number) Number { return func() float64 { return k * n() } }

// unit takes the unit after a number and gives what one of it is in the draft's own.
func (p *Parser) unit() float64 {
	own := p.Scope.Context.UnitMM
	for _, u := range sentence.UnitWords {
		if p.TakeAny(u.Words...) != "" {
			return u.MM / own
		}
	}
	if r := p.RuneAt(p.At); r == '"' || r == '″' || r == '”' {
		p.At++
		return 25.4 / own
	}
	if word := p.Word(); sentence.UnitMeant(word) != "" {
		text, mend := sentence.UnknownUnit(word)
		p.Fail(p.At, text, mend)
	}
	return 1
}

// Sum reads arithmetic: sums of products of numbers, measures and what has been drawn. It comes to the
// draft's unit where it is a length.
func (p *Parser) Sum() Number {
	v := p.product()
	for {
		sign := 1.0
		switch {
		case p.Sign('+'), p.Take("plus"):
		case p.Sign('-'), p.Sign('−'), p.Take("minus"):
			sign = -1
		default:
			return v
		}
		a, b := v, p.product()
		v = func() float64 { return a() + sign*b() }
	}
}

// SumWhere reads arithmetic of which only what holds is drawn. Of anything else text says what is wrong, with %s for
// what it comes to, and of which measures that comes.
func (p *Parser) SumWhere(holds func(v float64) bool, text, mend string) Number {
	p.Space()
	at, from := p.At, len(p.Uses)
	n := p.Sum()
	own := p.Uses[from:]
	return func() float64 {
		v := n()
		if !holds(v) {
			p.Scope.Context.refuse(p.own(p.unfit(at, fmt.Sprintf(text, sentence.FormatNumber(v)), mend, own)))
		}
		return v
	}
}

// MoreThan0 and AtLeast0 are what most lengths hold.
func MoreThan0(v float64) bool { return v > 0 }
func AtLeast0(v float64) bool  { return v >= 0 }

func (p *Parser) product() Number {
	v := p.factor()
	for {
		a := v
		switch {
		case p.Sign('*'), p.Sign('×'), p.Take("times"):
			b := p.factor()
			v = func() float64 { return a() * b() }
		case p.Sign('/'), p.Sign('÷'), p.Take("divided by"):
			at := p.At
			b := p.divisor()
			v = func() float64 {
				n, d := a(), b()
				if math.Abs(d) < 1e-12 {
					p.Refuse(at, "this divides by nothing: what stands below the stroke is 0", "")
				}
				return n / d
			}
		default:
			return v
		}
	}
}

// divisor reads what stands below a division sign. Of strokes set tight, waist/4/2, each divides what stands
// before it; a fraction set apart, waist / 4/2, could be meant either way and is refused.
func (p *Parser) divisor() Number {
	tight := p.At > 0 && p.RuneAt(p.At-1) == '/'
	from := p.At
	p.plainDivisor()
	p.Space()
	if !unicode.IsDigit(p.RuneAt(p.At)) || !sentence.IsFractionAt(p.Sentence.Text, p.At) {
		return p.factor()
	}
	begin := p.At
	d, _ := p.Digits()
	if tight && begin == from && p.RuneAt(p.At) == '/' {
		return constant(d * p.unit())
	}
	end := p.At
	p.DividedBy(d)
	over, part := string(p.Sentence.Text[begin:end]), string(p.Sentence.Text[begin:p.At])
	p.Fail(begin, "this divides by the fraction "+part+", or by "+over+" and then by "+string(p.Sentence.Text[end+1:p.At]), "put the fraction in brackets, ("+part+"), or the first division")
	return nil
}

// plainDivisor refuses a mixed number below a stroke: "across front/2 1/4" is more often a sum whose sign
// was forgotten.
func (p *Parser) plainDivisor() {
	p.Space()
	from := p.At
	defer func() { p.At = from }()
	if !unicode.IsDigit(p.RuneAt(p.At)) {
		return
	}
	if _, whole := p.Digits(); !whole || p.RuneAt(p.At) != ' ' {
		return
	}
	end := p.At
	if p.FractionBehind() > 0 {
		whole, part := string(p.Sentence.Text[from:end]), p.Said(end)
		p.Fail(from, "this divides by "+whole+" "+part+", or a sign is missing behind the "+whole, "write ("+whole+" "+part+") in brackets, or + or - between the two")
	}
}

func (p *Parser) factor() Number {
	p.Space()
	at := p.At
	switch {
	case p.Sign('-'):
		return times(-1, p.factor())
	case p.Sign('('):
		v := p.Sum()
		if !p.Sign(')') {
			p.Fail(p.At, "a closing bracket is wanted here, not "+p.Seen(), "")
		}
		return v
	case p.At < len(p.Sentence.Text) && (unicode.IsDigit(p.Sentence.Text[p.At]) || sentence.VulgarFractions[p.Sentence.Text[p.At]] > 0 || p.Sentence.Text[p.At] == '.'):
		return p.number()
	}
	if n, ok := p.Named(NumberKind); ok {
		end := p.At
		p.At = at
		if f, isFunc := p.Name(functions); !isFunc || len([]rune(f)) <= len([]rune(n)) {
			p.At = end
			d := p.use(n, NumberKind, at)
			return func() float64 { d.work(p, at); return d.Number }
		}
		p.At = at // the longer name is meant: length of, where there is also a length
	}
	switch f, _ := p.Name(functions); f {
	case "distance":
		a := p.Point()
		p.Want("to", " in a distance from one point to another")
		b := p.Point()
		return func() float64 { return geom.Dist(a(), b()) }
	case "length of":
		if p.ofPiece() {
			return p.Scope.Context.OfPieces.EdgeLength(p)
		}
		c := p.Edge()
		return func() float64 { return c().Length() }
	case "sewn length of":
		return p.Scope.Context.OfPieces.EdgeLength(p)
	case "out of":
		q := p.Point()
		return func() float64 { return q()[0] }
	case "down of":
		q := p.Point()
		return func() float64 { return q()[1] }
	case "half", "half of":
		return times(1.0/2, p.factor())
	case "third of", "a third of":
		v := p.factor()
		return func() float64 { return v() / 3 }
	case "quarter of", "a quarter of":
		return times(1.0/4, p.factor())
	case "an eighth of":
		return times(1.0/8, p.factor())
	case "root of":
		return p.root()
	case "pi":
		return constant(math.Pi)
	case "width of":
		return p.Scope.Context.OfPieces.Width(p, false)
	case "sewn width of":
		return p.Scope.Context.OfPieces.Width(p, true)
	case "radius of":
		return p.Scope.Context.OfPieces.Radius(p)
	case "larger of", "smaller of":
		a := p.factor()
		p.Want("and", " before the second of the two")
		b := p.factor()
		p.plainEnd("the second of the two", "the "+strings.TrimSuffix(f, " of"), f+" a and (b %s c)", "("+f+" a and b) %s c")
		if f == "larger of" {
			return func() float64 { return math.Max(a(), b()) }
		}
		return func() float64 { return math.Min(a(), b()) }
	}
	if at == 0 {
		if mend := p.beginning(); mend != "" {
			p.Fail(at, sentence.Quote(p.Word())+" is no word that begins a sentence", mend)
		}
	}
	p.unknown(at, NumberKind)
	return nil
}

// root reads what a root is taken of.
func (p *Parser) root() Number {
	p.Space()
	at := p.At
	n := p.factor()
	if p.RuneAt(at) != '(' {
		p.plainEnd("what the root is taken of", "the root", "root of (a %s b)", "(root of a) %s b")
	}
	return func() float64 {
		v := n()
		if v < 0 {
			p.Unfit(at, "there is no root of "+sentence.FormatNumber(v), "")
		}
		return math.Sqrt(v)
	}
}

// plainEnd refuses arithmetic behind a word that takes one value: larger of a and b - c, and root of a*a + b,
// can be read in two ways. The two ways with brackets hold %s for the sign that was met.
func (p *Parser) plainEnd(inner, outer, first, second string) {
	p.Space()
	at := p.At
	met := p.TakeAny("plus", "minus", "times", "divided by")
	for _, r := range "+-−*×/÷" {
		if met == "" && p.Sign(r) {
			met = string(r)
		}
	}
	if met != "" {
		p.Fail(at, "this can be read as arithmetic on "+inner+", or on "+outer, "set brackets: "+fmt.Sprintf(first, met)+", or "+fmt.Sprintf(second, met))
	}
}

// NumberAhead tells whether what comes next begins a number: a figure, a bracket, a measure, a word of arithmetic.
func (p *Parser) NumberAhead() bool {
	p.Space()
	at := p.At
	defer func() { p.At = at }()
	if r := p.RuneAt(at); unicode.IsDigit(r) || sentence.VulgarFractions[r] > 0 || strings.ContainsRune("-(.", r) {
		return true
	}
	if _, ok := p.Name(functions); ok {
		return true
	}
	_, ok := p.Named(NumberKind)
	return ok
}

// ofPiece tells whether an edge that comes next is known as a piece's only: a circle's, a strip's.
func (p *Parser) ofPiece() bool {
	from := p.At
	defer func() { p.At = from }()
	if _, ok := p.Named(EdgeKind); ok {
		return false
	}
	_, ok := p.Name(p.Scope.Context.OfPieces.EdgeNames())
	return ok
}
