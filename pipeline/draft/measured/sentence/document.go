package sentence

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/config"
)

// Document is a draft's or a card's YAML with its source, so that every value has a place.
type Document struct {
	Name string
	Root *yaml.Node
	// Brought are the files of the blocks that were brought in.
	Brought []string
	parts   map[*yaml.Node]*Document // whose nodes they are, of what was brought in
	source  [][]rune                 // its lines
}

// BringIn lets the nodes of other documents stand in this one with their own places.
func (d *Document) BringIn(other *Document) {
	if d.parts == nil {
		d.parts = map[*yaml.Node]*Document{}
	}
	var own func(n *yaml.Node)
	own = func(n *yaml.Node) {
		if d.parts[n] = other.Of(n); n.Alias != nil && d.parts[n.Alias] == nil {
			own(n.Alias)
		}
		for _, c := range n.Content {
			own(c)
		}
	}
	own(other.Root)
	d.Brought = append(d.Brought, other.Name)
}

// Of is the document in which a node stands.
func (d *Document) Of(n *yaml.Node) *Document {
	if other := d.parts[n]; other != nil {
		return other
	}
	return d
}

// Entry is one key of a mapping with its value.
type Entry struct {
	Key      string
	KeyNode  *yaml.Node
	Node     *yaml.Node
	Sentence *Sentence // of a scalar
}

// ParseDoc reads a draft's or a card's YAML; name is the file's for its faults. Either the document or the faults are nil.
func ParseDoc(data []byte, name string) (*Document, []Fault) {
	one := func(line, col int, text, mend string) []Fault {
		return []Fault{{File: name, Line: line, Column: col, Text: text, Mend: mend}}
	}
	var over *config.Excess
	if errors.As(config.Sized(data), &over) {
		return nil, one(1, 1, over.Text, over.Mend)
	}
	text := strings.TrimPrefix(strings.ReplaceAll(string(data), "\r\n", "\n"), "\xef\xbb\xbf")
	if at := notUTF8(text); at >= 0 {
		before := text[:at]
		line := before[strings.LastIndexByte(before, '\n')+1:]
		return nil, one(strings.Count(before, "\n")+1, utf8.RuneCountInString(line)+1, fmt.Sprintf("the byte %02X here is no letter of UTF-8", text[at]), "save the file anew as UTF-8 text")
	}
	d := &Document{Name: name, source: linesOf([]rune(text))}
	for i, l := range d.source {
		for k, r := range l {
			if r == '\t' {
				return nil, one(i+1, k+1, "a tab at the beginning of a line", "indent with spaces")
			}
			if !unicode.IsSpace(r) {
				break
			}
		}
	}
	root, err := config.Tree([]byte(text))
	if err != nil {
		if errors.As(err, &over) {
			return nil, one(max(1, over.Line), max(1, over.Column), over.Text, over.Mend)
		}
		var le *yaml.LoadError
		if errors.As(err, &le) {
			line, col, text, mend := d.yamlFault(le)
			return nil, one(line, col, text, mend)
		}
		return nil, one(1, 1, "this is no text of keys and sentences: "+err.Error(), "begin with style: and unit:")
	}
	if root.Kind != yaml.MappingNode {
		return nil, one(1, 1, "this is no draft: it holds no keys", "begin with style: and unit:")
	}
	d.Root = root
	return d, nil
}

// linesOf cuts a text into its lines.
func linesOf(text []rune) [][]rune {
	var out [][]rune
	for {
		i := slices.Index(text, '\n')
		if i < 0 {
			return append(out, text)
		}
		out, text = append(out, text[:i:i]), text[i+1:]
	}
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
