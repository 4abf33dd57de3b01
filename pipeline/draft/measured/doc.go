package measured

import (
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	yaml "go.yaml.in/yaml/v4"
)

// document is a draft's or a card's YAML with its source, so that every value has a place.
type document struct {
	name   string
	src    [][]rune
	root   *yaml.Node
	lineOf map[string]int // drawings, by name
}

// entry is one key of a mapping with its value.
type entry struct {
	key     string
	keyNode *yaml.Node
	node    *yaml.Node
	s       *sentence // of a scalar
}

// topKeys are all keys of a draft beside the drawings.
var topKeys = []string{"style", "note", "unit", "wearer", "card", "bodies", "body", "sizes", "numbers", "ease", "must",
	"holds for", "pieces", "allow", "notches", "marks", "sewn", "cloth", "notions"}

func parseDoc(data []byte, name string) (*document, []Fault) {
	text := strings.TrimPrefix(strings.ReplaceAll(string(data), "\r\n", "\n"), "\xef\xbb\xbf")
	d := &document{name: name, lineOf: map[string]int{}}
	for _, l := range strings.Split(text, "\n") {
		d.src = append(d.src, []rune(l))
	}
	one := func(line, col int, text, mend string) []Fault {
		return []Fault{{File: name, Line: line, Column: col, Text: text, Mend: mend}}
	}
	for i, l := range strings.Split(text, "\n") {
		if at := notUTF8(l); at >= 0 {
			return nil, one(i+1, utf8.RuneCountInString(l[:at])+1, fmt.Sprintf("the byte %02X here is no letter of UTF-8", l[at]), "save the file anew as UTF-8 text")
		}
	}
	for i, l := range d.src {
		for k, r := range l {
			if r == '\t' && strings.TrimSpace(string(l[:k])) == "" {
				return nil, one(i+1, k+1, "a tab at the beginning of a line", "indent with spaces")
			}
		}
	}
	var doc yaml.Node
	if err := yaml.Load([]byte(text), &doc); err != nil {
		var le *yaml.LoadError
		if errors.As(err, &le) {
			line, col, text, mend := d.yamlFault(le)
			return nil, one(line, col, text, mend)
		}
		return nil, one(1, 1, "this is no text of keys and sentences: "+err.Error(), "begin with style: and unit:")
	}
	root := &doc
	if root.Kind == yaml.DocumentNode && len(root.Content) > 0 {
		root = root.Content[0]
	}
	if root.Kind != yaml.MappingNode {
		return nil, one(1, 1, "this is no draft: it holds no keys", "begin with style: and unit:")
	}
	d.root = root
	return d, nil
}

// notUTF8 is the first byte of a text that belongs to no letter, -1 for none.
func notUTF8(s string) int {
	for i, r := range s {
		if r != utf8.RuneError {
			continue
		}
		if _, n := utf8.DecodeRuneInString(s[i:]); n == 1 {
			return i
		}
	}
	return -1
}

// entries lists a mapping's keys in order. Keys given twice are faults.
func (e *engine) entries(n *yaml.Node) []entry { return e.entriesIn(e.doc, n) }

func (e *engine) entriesIn(d *document, n *yaml.Node) []entry {
	if n.Kind != yaml.MappingNode {
		if n.Kind != yaml.ScalarNode || n.Value != "" {
			e.faults = append(e.faults, Fault{File: d.name, Line: n.Line, Column: n.Column,
				Text: "here keys with their sentences are wanted, one a line", Mend: "write a name, a colon, a space, and then the sentence"})
		}
		return nil
	}
	var out []entry
	seen := map[string]int{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		k, v := n.Content[i], n.Content[i+1]
		key := strings.Join(strings.Fields(k.Value), " ")
		if line, ok := seen[key]; ok {
			e.faults = append(e.faults, Fault{File: d.name, Line: k.Line, Column: k.Column,
				Text: quote(key) + " is told twice, first in line " + num(float64(line)), Mend: "take one of them out"})
			continue
		}
		seen[key] = k.Line
		if !strings.ContainsFunc(key, wordRune) {
			e.faults = append(e.faults, Fault{File: d.name, Line: k.Line, Column: k.Column, Text: "no name stands before this colon", Mend: "write one, or take the line out"})
			continue
		}
		en := entry{key: key, keyNode: k, node: v}
		if v.Kind == yaml.ScalarNode {
			en.s = newSentence(v, d.src, d.name)
		}
		out = append(out, en)
	}
	return out
}

// list gives the sentences of a sequence, or the one of a scalar.
func (e *engine) list(n *yaml.Node) []*sentence {
	switch n.Kind {
	case yaml.ScalarNode:
		if len(n.Value) > 1 && n.Value[0] == '-' && unicode.IsLetter(rune(n.Value[1])) {
			e.fault(n, "a dash without a space behind it", "write each sentence of a list behind a dash and a space")
			return nil
		}
		return []*sentence{newSentence(n, e.doc.src, e.doc.name)}
	case yaml.SequenceNode:
		var out []*sentence
		for _, c := range n.Content {
			if c.Kind != yaml.ScalarNode {
				e.fault(c, "a sentence is wanted here, and a colon makes it a key", "take the colon out; two sides of a seam have = between them")
				continue
			}
			out = append(out, newSentence(c, e.doc.src, e.doc.name))
		}
		return out
	}
	e.fault(n, "a list of sentences is wanted here", "write each behind a dash and a space")
	return nil
}

// text is an entry's plain value.
func (e *engine) text(en entry) string {
	if en.node.Kind != yaml.ScalarNode {
		e.fault(en.keyNode, quote(en.key)+" wants a few words, not more keys", "")
		return ""
	}
	return strings.TrimSpace(en.node.Value)
}
