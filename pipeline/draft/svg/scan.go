package svg

import (
	"math"
	"strconv"
)

// scanner walks over a list of numbers and letters, as path data, point lists, transforms and
// viewBoxes are. It takes nothing from the heap.
type scanner struct {
	s string
	i int
}

func isSpace(c byte) bool { return c == ' ' || c == '\t' || c == '\n' || c == '\r' || c == '\f' }

func (s *scanner) space() {
	for s.i < len(s.s) && isSpace(s.s[s.i]) {
		s.i++
	}
}

// gap steps over blanks with at most one comma among them.
func (s *scanner) gap() {
	s.space()
	if s.i < len(s.s) && s.s[s.i] == ',' {
		s.i++
		s.space()
	}
}

func (s *scanner) done() bool { return s.i >= len(s.s) }

// peek is the next byte, 0 at the end.
func (s *scanner) peek() byte {
	if s.i < len(s.s) {
		return s.s[s.i]
	}
	return 0
}

// startsNumber tells whether a number may begin here.
func (s *scanner) startsNumber() bool {
	c := s.peek()
	return c >= '0' && c <= '9' || c == '.' || c == '-' || c == '+'
}

var powers = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// number reads one number at this place: a sign, digits with a point, an exponent. Words such as
// "nan" and "inf" are none. Up to 15 digits are exact as whole numbers, and dividing them by an
// exact power of ten rounds once, as the standard library does.
func (s *scanner) number() (float64, bool) {
	start := s.i
	neg := false
	if c := s.peek(); c == '-' || c == '+' {
		neg = c == '-'
		s.i++
	}
	var whole uint64
	digits, decimals := 0, 0
	for ; s.i < len(s.s) && s.s[s.i] >= '0' && s.s[s.i] <= '9'; s.i++ {
		whole = whole*10 + uint64(s.s[s.i]-'0')
		digits++
	}
	if s.peek() == '.' {
		for s.i++; s.i < len(s.s) && s.s[s.i] >= '0' && s.s[s.i] <= '9'; s.i++ {
			whole = whole*10 + uint64(s.s[s.i]-'0')
			digits++
			decimals++
		}
	}
	if digits == 0 {
		s.i = start
		return 0, false
	}
	if !s.exponent() && digits <= 15 {
		v := float64(whole) / powers[decimals]
		if neg {
			v = -v
		}
		return v, true
	}
	v, err := strconv.ParseFloat(s.s[start:s.i], 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		s.i = start
		return 0, false
	}
	return v, true
}

// exponent steps over an exponent, if one stands here; "e" without digits is none ("1em").
func (s *scanner) exponent() bool {
	if c := s.peek(); c != 'e' && c != 'E' {
		return false
	}
	j := s.i + 1
	if j < len(s.s) && (s.s[j] == '+' || s.s[j] == '-') {
		j++
	}
	first := j
	for j < len(s.s) && s.s[j] >= '0' && s.s[j] <= '9' {
		j++
	}
	if j == first {
		return false
	}
	s.i = j
	return true
}

// flag reads an arc flag: the single character 0 or 1.
func (s *scanner) flag() (on, ok bool) {
	c := s.peek()
	if c != '0' && c != '1' {
		return false, false
	}
	s.i++
	return c == '1', true
}

// numbers reads a whole list; ok is false where something else stands in it.
func numbers(text string) (list []float64, ok bool) {
	s := scanner{s: text}
	s.space()
	for !s.done() {
		v, ok := s.number()
		if !ok {
			return list, false
		}
		list = append(list, v)
		before := s.i
		s.gap()
		if s.done() && s.i > before && endsWithComma(text) {
			return list, false
		}
	}
	return list, true
}

func endsWithComma(s string) bool {
	for i := len(s) - 1; i >= 0; i-- {
		if !isSpace(s[i]) {
			return s[i] == ','
		}
	}
	return false
}
