package measured

import (
	"strings"
	"unicode"
	"unicode/utf8"

	yaml "go.yaml.in/yaml/v4"
)

// sentence is the text of one value with the way back to its place in the file.
type sentence struct {
	file string
	text []rune
	// lines and cols are the place of each rune, with one more for the end.
	lines, cols []int
}

// newSentence aligns a scalar with the source from which it was read, so that each of its letters
// has a line and a column: quotes are stepped over, folded lines count as one space.
func newSentence(n *yaml.Node, src [][]rune, file string) *sentence {
	s := &sentence{file: file, text: []rune(n.Value)}
	l, c := n.Line, n.Column
	at := func() (rune, bool) {
		if l-1 >= len(src) {
			return 0, false
		}
		if c-1 >= len(src[l-1]) {
			return '\n', true
		}
		return src[l-1][c-1], true
	}
	next := func() {
		if l-1 < len(src) && c-1 >= len(src[l-1]) {
			l, c = l+1, 1
		} else {
			c++
		}
	}
	for i, r := range s.text {
		for range 400 {
			x, ok := at()
			if !ok || x == r || unicode.IsSpace(x) && unicode.IsSpace(r) {
				break
			}
			next()
		}
		s.lines, s.cols = append(s.lines, l), append(s.cols, c)
		next()
		if !unicode.IsSpace(r) || i+1 < len(s.text) && unicode.IsSpace(s.text[i+1]) {
			continue // several spaces in a row are kept as they are
		}
		for x, ok := at(); ok && unicode.IsSpace(x); x, ok = at() {
			next()
		}
	}
	if len(s.text) == 0 {
		s.lines, s.cols = []int{n.Line}, []int{n.Column}
		return s
	}
	k := len(s.text) - 1
	s.lines, s.cols = append(s.lines, s.lines[k]), append(s.cols, s.cols[k]+1)
	return s
}

// cursor reads one sentence from left to right, a word or a sign at a time; i is the rune that comes next.
type cursor struct {
	s *sentence
	i int
}

func (p *cursor) space() {
	for p.i < len(p.s.text) && unicode.IsSpace(p.s.text[p.i]) {
		p.i++
	}
}

func (p *cursor) done() bool { p.space(); return p.i >= len(p.s.text) }

// fail refuses the sentence at rune i.
func (p *cursor) fail(i int, text, mend string) {
	if i >= len(p.s.lines) {
		i = len(p.s.lines) - 1
	}
	panic(stop{Fault{File: p.s.file, Line: p.s.lines[i], Column: p.s.cols[i], Text: text, Mend: mend}})
}

func wordRune(r rune) bool {
	return unicode.IsLetter(r) || unicode.IsDigit(r) || r == '\'' || r == '_'
}

// is tells whether the words come next, without taking them. Words are separated by any space.
func (p *cursor) is(words string) int {
	p.space()
	i := p.i
	if first, _ := utf8.DecodeRuneInString(words); i >= len(p.s.text) || p.s.text[i] != first {
		return -1 // most names end here
	}
	var last rune
	for _, r := range words {
		if r == ' ' {
			from := i
			for i < len(p.s.text) && unicode.IsSpace(p.s.text[i]) {
				i++
			}
			if i == from {
				return -1
			}
			continue
		}
		if i >= len(p.s.text) || p.s.text[i] != r {
			return -1
		}
		i++
		last = r
	}
	if wordRune(last) && i < len(p.s.text) && (wordRune(p.s.text[i]) || p.s.text[i] == '-' && i+1 < len(p.s.text) && unicode.IsLetter(p.s.text[i+1])) {
		return -1
	}
	return i
}

// take takes the words if they come next.
func (p *cursor) take(words string) bool {
	if i := p.is(words); i >= 0 {
		p.i = i
		return true
	}
	return false
}

// takeAny takes the first of several that comes next, "" for none.
func (p *cursor) takeAny(words ...string) string {
	for _, w := range words {
		if p.take(w) {
			return w
		}
	}
	return ""
}

// want takes the words or refuses.
func (p *cursor) want(words, forWhat string) {
	if p.take(words) {
		return
	}
	p.fail(p.i, "here "+quote(words)+" is wanted"+forWhat+", not "+p.seen(), "")
}

// phrase is the run of words that comes next, up to a sign or the end.
func (p *cursor) phrase() string {
	p.space()
	i := p.i
	for i < len(p.s.text) && (wordRune(p.s.text[i]) || p.s.text[i] == ' ' || p.s.text[i] == '-') {
		i++
	}
	return strings.TrimSpace(string(p.s.text[p.i:i]))
}

func (p *cursor) word() string {
	p.space()
	i := p.i
	for i < len(p.s.text) && (wordRune(p.s.text[i]) || p.s.text[i] == '-') {
		i++
	}
	return string(p.s.text[p.i:i])
}

// seen is what comes next, for a refusal.
func (p *cursor) seen() string {
	if p.done() {
		return "the end of the sentence"
	}
	r := p.s.text[p.i:]
	if len(r) > 40 {
		return quote(string(r[:40]) + "…")
	}
	return quote(string(r))
}

// name takes the longest of the known names that comes next.
func (p *cursor) name(known []string) (string, bool) {
	best, end := "", -1
	for _, n := range known {
		if i := p.is(n); i > end {
			best, end = n, i
		}
	}
	if end < 0 {
		return "", false
	}
	p.i = end
	return best, true
}

func quote(s string) string { return "\"" + s + "\"" }

// sign takes a sign if it comes next.
func (p *cursor) sign(r rune) bool {
	p.space()
	if p.i < len(p.s.text) && p.s.text[p.i] == r {
		p.i++
		return true
	}
	return false
}
