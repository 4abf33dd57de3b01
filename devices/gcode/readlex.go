package gcode

import (
	"math"
	"strconv"
	"strings"
)

// block is the words of one line.
type block struct {
	deleted bool
	word    map[byte]float64
	g, m    []int // G codes times ten, M codes
	// By modal group, the line's G code times ten; has records the groups in use.
	motion, once, plane, distance, arcDistance, feedMode, units int
	has                                                         map[string]bool
}

const letters = "ABCDFGHIJKLMNPQRSTUVWXYZ"

// lex splits a line into words; outside comments blanks and case do not matter.
func (r *reader) lex(l []byte) block {
	b := block{word: map[byte]float64{}, has: map[string]bool{}}
	text := r.strip(string(l))
	if strings.HasPrefix(text, "/") {
		b.deleted = true
		text = text[1:]
	}
	first := true
	for i := 0; i < len(text); first = false {
		c := text[i]
		if c == '#' || c == '[' || c == '=' {
			r.fault(UnknownCode, "parameters and expressions are not read")
			return b
		}
		if strings.IndexByte(letters, c) < 0 {
			r.fault(Syntax, "%q cannot begin a word", string(rune(c)))
			return b
		}
		v, n, ok := number(text[i+1:])
		if i+1 < len(text) && (text[i+1] == '#' || text[i+1] == '[') {
			r.fault(UnknownCode, "parameters and expressions are not read")
			return b
		}
		if !ok {
			r.fault(Syntax, "no number follows %c", c)
			return b
		}
		r.addWord(&b, c, v, text[i+1:i+1+n], first)
		i += 1 + n
	}
	return b
}

// strip removes comments and blanks. A comment between a letter and its number is a fault: it leaves a mark that no
// number contains.
func (r *reader) strip(l string) string {
	var out strings.Builder
	for i := 0; i < len(l); i++ {
		switch c := l[i]; {
		case c == ' ' || c == '\t':
		case c == ';':
			r.t.Comments = append(r.t.Comments, strings.TrimSpace(l[i+1:]))
			return out.String()
		case c == ')':
			r.fault(Syntax, "a closing bracket without an opening one")
		case c == '(':
			end := strings.IndexAny(l[i+1:], "()")
			if end < 0 || l[i+1+end] == '(' {
				r.fault(Syntax, "a comment is not closed, or opens another")
				return out.String()
			}
			r.t.Comments = append(r.t.Comments, strings.TrimSpace(l[i+1:i+1+end]))
			if s := out.String(); s != "" && strings.IndexByte(letters, s[len(s)-1]) >= 0 {
				r.fault(Syntax, "a comment stands between a letter and its number")
			}
			i += 1 + end
		case c >= 'a' && c <= 'z':
			out.WriteByte(c - 'a' + 'A')
		default:
			out.WriteByte(c)
		}
	}
	return out.String()
}

// number reads a sign, digits and a decimal point; there is no exponent.
func number(s string) (v float64, n int, ok bool) {
	if n < len(s) && (s[n] == '+' || s[n] == '-') {
		n++
	}
	digits, points := 0, 0
	for ; n < len(s); n++ {
		switch {
		case s[n] >= '0' && s[n] <= '9':
			digits++
		case s[n] == '.' && points == 0:
			points++
		default:
			v, err := strconv.ParseFloat(s[:n], 64)
			return v, n, digits > 0 && err == nil
		}
	}
	v, err := strconv.ParseFloat(s[:n], 64)
	return v, n, digits > 0 && err == nil
}

func (r *reader) addWord(b *block, c byte, v float64, text string, first bool) {
	switch c {
	case 'N':
		if !first || strings.ContainsAny(text, "+-.") {
			r.fault(Syntax, "a line number is unsigned and stands first")
		}
	case 'G':
		if code, ok := whole(v * 10); ok {
			b.g = append(b.g, code)
		} else {
			r.fault(UnknownCode, "G%s is no code", text)
		}
	case 'M':
		if code, ok := whole(v); ok {
			b.m = append(b.m, code)
		} else {
			r.fault(UnknownCode, "M%s is no code", text)
		}
	default:
		if _, twice := b.word[c]; twice {
			r.fault(Syntax, "two %c words", c)
		}
		b.word[c] = v
	}
}

// whole is a number that must be within 0.0001 of an integer.
func whole(v float64) (int, bool) {
	n := math.Round(v)
	return int(n), math.Abs(v-n) <= 0.0001
}

func (b *block) value(c byte) (float64, bool) {
	v, ok := b.word[c]
	return v, ok
}
