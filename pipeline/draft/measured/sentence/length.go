package sentence

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// VulgarFractions are the signs that are a fraction by themselves.
var VulgarFractions = map[rune]float64{'½': 0.5, '¼': 0.25, '¾': 0.75, '⅛': 0.125, '⅜': 0.375, '⅝': 0.625, '⅞': 0.875, '⅓': 1.0 / 3, '⅔': 2.0 / 3}

// RuneAt is the letter at i, 0 behind the end.
func (p *Cursor) RuneAt(i int) rune {
	if i < len(p.Sentence.Text) {
		return p.Sentence.Text[i]
	}
	return 0
}

// IsStroke tells the stroke of a fraction.
func IsStroke(r rune) bool { return r == '/' || r == '⁄' }

// FractionBehind reads the fraction of a mixed number, behind the space: 2 1/2, or 2 ½.
func (p *Cursor) FractionBehind() float64 {
	k := p.At
	for p.RuneAt(k) == ' ' {
		k++
	}
	if f := VulgarFractions[p.RuneAt(k)]; f > 0 {
		p.At = k + 1
		return f
	}
	if !unicode.IsDigit(p.RuneAt(k)) || !IsFractionAt(p.Sentence.Text, k) {
		return 0
	}
	p.At = k
	top, _ := p.Digits()
	return p.DividedBy(top)
}

// IsFractionAt tells whether a stroke and a whole number stand at i, or for a minus the digits
// before them.
func IsFractionAt(text []rune, i int) bool {
	for i < len(text) && unicode.IsDigit(text[i]) {
		i++
	}
	if i+1 >= len(text) || !IsStroke(text[i]) || !unicode.IsDigit(text[i+1]) {
		return false
	}
	i++
	for i < len(text) && unicode.IsDigit(text[i]) {
		i++
	}
	return i >= len(text) || text[i] != '.'
}

// DividedBy reads the stroke and what stands below it.
func (p *Cursor) DividedBy(top float64) float64 {
	p.At++ // the stroke
	at := p.At
	d, _ := p.Digits()
	if d == 0 {
		p.Fail(at, "a fraction with nothing below the stroke", "")
	}
	return top / d
}

// Digits reads digits with at most one point; whole without one. It gives 0 where there are none and refuses what is no number.
func (p *Cursor) Digits() (v float64, whole bool) {
	from := p.At
	dots := 0
	for p.At < len(p.Sentence.Text) && (unicode.IsDigit(p.Sentence.Text[p.At]) || p.Sentence.Text[p.At] == '.') {
		if p.Sentence.Text[p.At] == '.' {
			dots++
		}
		p.At++
	}
	if p.At == from {
		return 0, true
	}
	v, err := strconv.ParseFloat(string(p.Sentence.Text[from:p.At]), 64)
	if err != nil {
		p.Fail(from, Quote(string(p.Sentence.Text[from:p.At]))+" is no number", "")
	}
	return v, dots == 0
}

// Units are the units of drafts, in mm.
var Units = map[string]float64{"mm": 1, "cm": 10, "in": 25.4}

// UnitWords are the units behind a length, also written out.
var UnitWords = []struct {
	MM    float64
	Words []string
}{
	{1, []string{"mm", "millimetres", "millimeters", "millimetre", "millimeter"}},
	{10, []string{"cm", "centimetres", "centimeters", "centimetre", "centimeter"}},
	{25.4, []string{"in", "inches", "inch", "ins"}},
}

// UnknownUnit refuses a unit, with the one that is most likely meant.
func UnknownUnit(said string) (text, mend string) {
	text, mend = "unknown unit "+Quote(said), "write mm, cm or in"
	if unit := UnitMeant(said); unit != "" {
		mend = fmt.Sprintf("did you mean %q?", unit)
	}
	return text, mend
}

// UnitMeant is the unit that a word is meant for - cms, centimetres, inch - "" for none.
func UnitMeant(said string) string {
	said = strings.ToLower(said)
	for _, u := range UnitWords {
		if slices.Contains(u.Words, said) || slices.Contains(u.Words, strings.TrimRight(said, "s.")) {
			return u.Words[0]
		}
	}
	return ""
}

// SpokenUnit is a unit as it is said behind "in": inches, not in.
func SpokenUnit(unit string) string {
	if unit == "in" {
		return "inches"
	}
	return unit
}

// FormatNumber writes a number for people: as many digits as matter.
func FormatNumber(v float64) string {
	s := strconv.FormatFloat(v, 'f', 3, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		s = "0"
	}
	return s
}
