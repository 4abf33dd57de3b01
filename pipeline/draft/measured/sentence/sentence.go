// Package sentence reads what a measured draft is written in: YAML whose values are sentences. It gives
// documents and sentences in which each letter has its line and column, a Cursor that goes through a
// sentence word by word, numbers with their units, and faults with the word that may have been meant.
// It knows nothing of garments. Cursor.Fail stops the reading by a panic of Stop.
package sentence

import (
	"strings"
	"unicode"
	"unicode/utf8"

	yaml "go.yaml.in/yaml/v4"
)

// Sentence is the text of one value with the way back to its place in the file.
type Sentence struct {
	File string
	Text []rune
	// Line and Column are the place of the first rune.
	Line, Column int
	places       [][2]int // of all runes and the end, where the text does not stand in the file as it is
}

// Place is the line and the column of rune i, or of the end.
func (s *Sentence) Place(i int) (line, column int) {
	if s.places != nil {
		return s.places[i][0], s.places[i][1]
	}
	return s.Line, s.Column + i
}

// Sentence is a scalar's, of the document or of one that was brought in.
func (d *Document) Sentence(n *yaml.Node) *Sentence {
	d = d.Of(n)
	s := &Sentence{File: d.Name, Line: n.Line, Column: n.Column}
	if s.Text = asWritten(n, d.source); s.Text == nil {
		s.align(n.Value, d.source)
	}
	return s
}

// asWritten is the value as it stands in the source, nil where it stands there in other letters: in quotes, or folded.
func asWritten(n *yaml.Node, src [][]rune) []rune {
	if n.Line > len(src) || n.Column-1 > len(src[n.Line-1]) {
		return nil
	}
	line := src[n.Line-1][n.Column-1:]
	k := 0
	for _, r := range n.Value {
		if k >= len(line) || line[k] != r {
			return nil
		}
		k++
	}
	return line[:k:k]
}

// align gives each letter of a value its place: quotes are stepped over, folded lines count as one space.
func (s *Sentence) align(value string, src [][]rune) {
	if s.Text = []rune(value); len(s.Text) == 0 {
		return
	}
	s.places = make([][2]int, 0, len(s.Text)+1)
	l, c := s.Line, s.Column
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
	for i, r := range s.Text {
		for range 400 {
			x, ok := at()
			if !ok || x == r || unicode.IsSpace(x) && unicode.IsSpace(r) {
				break
			}
			next()
		}
		s.places = append(s.places, [2]int{l, c})
		next()
		if !unicode.IsSpace(r) || i+1 < len(s.Text) && unicode.IsSpace(s.Text[i+1]) {
			continue // several spaces in a row are kept as they are
		}
		for x, ok := at(); ok && unicode.IsSpace(x); x, ok = at() {
			next()
		}
	}
	last := s.places[len(s.places)-1]
	s.places = append(s.places, [2]int{last[0], last[1] + 1})
	s.Line, s.Column = s.places[0][0], s.places[0][1]
}

// Cursor reads one sentence from left to right, a word or a sign at a time; i is the rune that comes next.
type Cursor struct {
	Sentence *Sentence
	At       int
}

// Space steps over white space.
func (p *Cursor) Space() {
	for p.At < len(p.Sentence.Text) && unicode.IsSpace(p.Sentence.Text[p.At]) {
		p.At++
	}
}

// Done tells whether nothing but white space follows.
func (p *Cursor) Done() bool { p.Space(); return p.At >= len(p.Sentence.Text) }

// Fault is a fault of the sentence at rune i.
func (p *Cursor) Fault(i int, text, mend string) Fault {
	line, column := p.Sentence.Place(min(i, len(p.Sentence.Text)))
	return Fault{File: p.Sentence.File, Line: line, Column: column, Text: text, Mend: mend}
}

// IsWordRune tells what a word may consist of.
func IsWordRune(r rune) bool {
	return unicode.IsLetter(r) || unicode.IsDigit(r) || r == '\'' || r == '_'
}

// Is tells whether the words come next, without taking them. Words are separated by any space.
func (p *Cursor) Is(words string) int {
	p.Space()
	i := p.At
	if first, _ := utf8.DecodeRuneInString(words); i >= len(p.Sentence.Text) || p.Sentence.Text[i] != first {
		return -1
	}
	var last rune
	for _, r := range words {
		if r == ' ' {
			from := i
			for i < len(p.Sentence.Text) && unicode.IsSpace(p.Sentence.Text[i]) {
				i++
			}
			if i == from {
				return -1
			}
			continue
		}
		if i >= len(p.Sentence.Text) || p.Sentence.Text[i] != r {
			return -1
		}
		i++
		last = r
	}
	if IsWordRune(last) && i < len(p.Sentence.Text) && (IsWordRune(p.Sentence.Text[i]) || p.Sentence.Text[i] == '-' && i+1 < len(p.Sentence.Text) && unicode.IsLetter(p.Sentence.Text[i+1])) {
		return -1
	}
	return i
}

// Take takes the words if they come next.
func (p *Cursor) Take(words string) bool {
	if i := p.Is(words); i >= 0 {
		p.At = i
		return true
	}
	return false
}

// TakeAny takes the first of several that comes next, "" for none.
func (p *Cursor) TakeAny(words ...string) string {
	for _, w := range words {
		if p.Take(w) {
			return w
		}
	}
	return ""
}

// Want takes the words or refuses.
func (p *Cursor) Want(words, forWhat string) {
	if p.Take(words) {
		return
	}
	p.Fail(p.At, "here "+Quote(words)+" is wanted"+forWhat+", not "+p.Seen(), "")
}

// Phrase is the run of words that comes next, up to a sign or the end.
func (p *Cursor) Phrase() string {
	p.Space()
	i := p.At
	for i < len(p.Sentence.Text) && (IsWordRune(p.Sentence.Text[i]) || p.Sentence.Text[i] == ' ' || p.Sentence.Text[i] == '-') {
		i++
	}
	return strings.TrimSpace(string(p.Sentence.Text[p.At:i]))
}

// Word is the word that comes next, not taken; "" where a sign comes.
func (p *Cursor) Word() string {
	p.Space()
	i := p.At
	for i < len(p.Sentence.Text) && (IsWordRune(p.Sentence.Text[i]) || p.Sentence.Text[i] == '-') {
		i++
	}
	return string(p.Sentence.Text[p.At:i])
}

// Seen is what comes next, for a refusal.
func (p *Cursor) Seen() string {
	if p.Done() {
		return "the end of the sentence"
	}
	r := p.Sentence.Text[p.At:]
	if len(r) > 40 {
		return Quote(string(r[:40]) + "…")
	}
	return Quote(string(r))
}

// Name takes the longest of the known names that comes next.
func (p *Cursor) Name(known []string) (string, bool) {
	best, end := "", -1
	if p.Done() {
		return best, false
	}
	first := string(p.Sentence.Text[p.At])
	for _, n := range known {
		if !strings.HasPrefix(n, first) {
			continue // most names end here
		}
		if i := p.Is(n); i > end {
			best, end = n, i
		}
	}
	if end < 0 {
		return "", false
	}
	p.At = end
	return best, true
}

// Quote sets a word between double quotes as it is.
func Quote(s string) string { return "\"" + s + "\"" }

// Sign takes a sign if it comes next.
func (p *Cursor) Sign(r rune) bool {
	p.Space()
	if p.At < len(p.Sentence.Text) && p.Sentence.Text[p.At] == r {
		p.At++
		return true
	}
	return false
}
