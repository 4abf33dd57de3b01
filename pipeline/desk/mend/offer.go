// Package mend finds the word that is most likely meant by a wrong one in a draft, or the length by a text that is
// none. It takes texts and findings, and gives replacements.
package mend

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"

	"tracewheel/config/samples"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/tape"
)

// Offer is a word of a draft, its replacement, and the line where it is to be replaced.
type Offer struct {
	Was  string `json:"was"`
	Word string `json:"word"`
	Line int    `json:"line"`
}

var (
	// Meant finds the word that a fault suggests, Quoted the first word that it quotes.
	Meant  = regexp.MustCompile(`did you mean "([^"]+)"\?`)
	Quoted = regexp.MustCompile(`"([^"]+)"`)
)

// Of is the replacement that a fault suggests, with the advice; nil where it suggests none or its word is not in that
// line. Where the name is misspelt at its definition the replacement is made there, because replacing a use would
// spread the misspelling.
func Of(text string, f pattern.Finding) (*Offer, string) {
	word, wrong := Meant.FindStringSubmatch(f.Mend), Quoted.FindStringSubmatch(f.Message)
	lines := strings.Split(text, "\n")
	if word == nil || wrong == nil || f.Line < 1 || f.Line > len(lines) {
		return nil, f.Mend
	}
	was, is := strings.Fields(wrong[1]), strings.Fields(word[1]) // the first with the text after the word
	was = was[:min(len(was), len(is))]
	o := &Offer{strings.Join(was, " "), word[1], f.Line}
	if len(was) != len(is) || !strings.Contains(lines[f.Line-1], o.Was) {
		return nil, f.Mend
	}
	at := 0
	for at < len(was) && was[at] == is[at] {
		at++
	}
	if at == len(was) || slices.Compare(was[at+1:], is[at+1:]) != 0 {
		return o, f.Mend
	}
	used, tells := was[at], is[at]
	uses, told, line := 0, 0, 0
	for i, l := range lines {
		l = WithoutComment(l)
		uses += len(WholeWord(used).FindAllString(l, -1))
		n := len(WholeWord(tells).FindAllString(l, -1))
		if told += n; n > 0 && KeyWith(tells).MatchString(l) {
			line = i + 1
		}
	}
	switch usual := wordsOfDrafts(); {
	case told == 0 && usual[used] && !usual[tells]: // a card or a block defines it so
		return nil, f.Mend
	case told != 1 || line == 0 || usual[tells] && !usual[used] || uses < 2 && !usual[used]:
		return o, f.Mend
	}
	return &Offer{tells, used, line}, fmt.Sprintf("line %d tells %q, which stands nowhere else: is that the slip?", line, tells)
}

// lacksMeasure finds that a fault is about a name that should be a measure or a number.
var lacksMeasure = regexp.MustCompile(`is no measure or number known here|" is not given|, and a (?:measure or )?number is wanted here`)

// Missing is the body measure at a fault that no body has, "" for none: a similar word would be another measure.
func Missing(text string, f pattern.Finding) string {
	lines := strings.Split(text, "\n")
	if !lacksMeasure.MatchString(f.Message) || f.Line < 1 || f.Line > len(lines) {
		return ""
	}
	line := []rune(lines[f.Line-1])
	here := string(line[min(max(0, f.Column-1), len(line)):])
	found := ""
	for _, name := range tape.Names() {
		if len(name) > len(found) && regexp.MustCompile(`^`+regexp.QuoteMeta(name)+`(?:[^\pL\pN']|$)`).MatchString(here) {
			found = name
		}
	}
	return found
}

// otherDraft finds in a draft's first lines the starter for bodies that this one is not for.
var otherDraft = regexp.MustCompile(`(?s)^#[^:]*?\bfor others\b[^:]*? there is ([a-z-]+)\.yaml`)

// OtherStarter is the starter for bodies that a draft is not for, from its first lines; "" for none.
func OtherStarter(text string) string {
	if m := otherDraft.FindStringSubmatch(text); m != nil && slices.Contains(samples.Starters(), m[1]) {
		return m[1]
	}
	return ""
}

// WithoutComment is a line without its YAML comment.
func WithoutComment(line string) string {
	if strings.HasPrefix(strings.TrimSpace(line), "#") {
		return ""
	}
	line, _, _ = strings.Cut(line, " #")
	return line
}

// WholeWord finds a word that is not part of another.
func WholeWord(w string) *regexp.Regexp {
	return regexp.MustCompile(`(?:^|[^\pL\pN'])` + regexp.QuoteMeta(w) + `(?:[^\pL\pN']|$)`)
}

// KeyWith finds a word in the name before a line's colon.
func KeyWith(w string) *regexp.Regexp {
	return regexp.MustCompile(`(?:^|[{,])(?:[^:{},]*[^\pL\pN':{},])?` + regexp.QuoteMeta(w) + `(?:[^\pL\pN':{},][^:{},]*)?:`)
}

// wordsOfDrafts are the words of the starters and the names of measures, which are spelt correctly.
var wordsOfDrafts = sync.OnceValue(func() map[string]bool {
	out := map[string]bool{}
	put := func(text string) {
		for _, w := range regexp.MustCompile(`\pL+`).FindAllString(text, -1) {
			out[w] = true
		}
	}
	for _, name := range tape.Names() {
		put(name)
	}
	for _, name := range samples.Starters() {
		put(string(samples.Read(name + ".yaml")))
	}
	return out
})
