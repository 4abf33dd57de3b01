package measured

import (
	"strconv"
	"strings"
	"unicode"
)

// vulgar are the signs that are a fraction by themselves.
var vulgar = map[rune]float64{'½': 0.5, '¼': 0.25, '¾': 0.75, '⅛': 0.125, '⅜': 0.375, '⅝': 0.625, '⅞': 0.875, '⅓': 1.0 / 3, '⅔': 2.0 / 3}

func (p *cursor) runeAt(i int) rune {
	if i < len(p.s.text) {
		return p.s.text[i]
	}
	return 0
}

func isStroke(r rune) bool { return r == '/' || r == '⁄' }

// number reads a number as people write it - 5, 5.12, 1/2, 2 1/2, 5½ - and the unit after it, if it
// is not the draft's own. A part of something may be said of it: 1/4 of bust, 20% of bust.
func (p *parser) number() float64 {
	at := p.i
	v, whole := p.digits()
	text := p.s.text
	part := false
	switch {
	case p.runeAt(p.i) == ',' && unicode.IsDigit(p.runeAt(p.i+1)):
		p.fail(p.i, "a comma inside a number", "write "+string(text[at:p.i])+"."+string(text[p.i+1])+" with a point, or a space after the comma")
	case whole && p.runeAt(p.i) == '-' && isFractionAt(text, p.i+1):
		p.fail(at, "this can be read as "+string(text[at:p.i])+" and a fraction, or as a subtraction", "write a space between: "+string(text[at:p.i])+" 1/2, or spaces round the minus")
	case vulgar[p.runeAt(p.i)] > 0:
		v += vulgar[text[p.i]]
		part = v < 1
		p.i++
	case whole && isFractionAt(text, p.i):
		v, part = p.over(v), true
	case p.runeAt(p.i) == '%':
		p.i++
		v, part = v/100, true
	case whole && p.runeAt(p.i) == ' ':
		v += p.fractionBehind()
	}
	if p.is("of the way") >= 0 {
		p.fail(at, "a share of the way is a point, not a number", "begin the sentence with it: 1/3 of the way from O to N")
	}
	if part && p.take("of") {
		return v * p.factor()
	}
	return v * p.unit()
}

// fractionBehind reads the fraction of a mixed number, behind the space: 2 1/2, or 2 ½.
func (p *cursor) fractionBehind() float64 {
	k := p.i
	for p.runeAt(k) == ' ' {
		k++
	}
	if f := vulgar[p.runeAt(k)]; f > 0 {
		p.i = k + 1
		return f
	}
	if !unicode.IsDigit(p.runeAt(k)) || !isFractionAt(p.s.text, k) {
		return 0
	}
	p.i = k
	top, _ := p.digits()
	return p.over(top)
}

// isFractionAt tells whether a stroke and a whole number stand at i, or for a minus the digits
// before them.
func isFractionAt(text []rune, i int) bool {
	for i < len(text) && unicode.IsDigit(text[i]) {
		i++
	}
	if i+1 >= len(text) || !isStroke(text[i]) || !unicode.IsDigit(text[i+1]) {
		return false
	}
	i++
	for i < len(text) && unicode.IsDigit(text[i]) {
		i++
	}
	return i >= len(text) || text[i] != '.'
}

// over reads the stroke and what stands below it.
func (p *cursor) over(top float64) float64 {
	p.i++ // the stroke
	at := p.i
	d, _ := p.digits()
	if d == 0 {
		p.fail(at, "a fraction with nothing below the stroke", "")
	}
	return top / d
}

func (p *cursor) digits() (v float64, whole bool) {
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

// unitWords are the units behind a length, also written out.
var unitWords = []struct {
	mm    float64
	words []string
}{
	{1, []string{"mm", "millimetres", "millimeters", "millimetre", "millimeter"}},
	{10, []string{"cm", "centimetres", "centimeters", "centimetre", "centimeter"}},
	{25.4, []string{"in", "inches", "inch", "ins"}},
}

// unit takes the unit after a number and gives what one of it is in the draft's own.
func (p *parser) unit() float64 {
	own := p.sc.eng.unitMM
	for _, u := range unitWords {
		if p.takeAny(u.words...) != "" {
			return u.mm / own
		}
	}
	if r := p.runeAt(p.i); r == '"' || r == '″' || r == '”' {
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
