package drafting

import (
	"strings"
	"unicode"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/draft/measured/sentence"
)

// TopKeys are all keys of a draft beside the drawings.
var TopKeys = []string{"style", "note", "unit", "wearer", "kind", "card", "bodies", "body", "sizes", "numbers", "ease", "must", "from",
	"holds for", "pieces", "allow", "notches", "marks", "sewn", "cloth", "notions"}

// Entries lists a mapping's keys in order. Keys given twice are faults.
func (e *Draft) Entries(n *yaml.Node) []sentence.Entry { return e.entriesIn(e.Document, n) }

func (e *Draft) entriesIn(d *sentence.Document, n *yaml.Node) []sentence.Entry {
	top := d
	if n.Kind != yaml.MappingNode {
		d = d.Of(n)
		if n.Kind != yaml.ScalarNode || n.Value != "" {
			e.Faults = append(e.Faults, sentence.Fault{File: d.Name, Line: n.Line, Column: n.Column,
				Text: "here keys with their sentences are wanted, one a line", Mend: "write a name, a colon, a space, and then the sentence"})
		}
		return nil
	}
	out := make([]sentence.Entry, 0, len(n.Content)/2)
	seen := make(map[string]int, len(n.Content)/2)
	for i := 0; i+1 < len(n.Content); i += 2 {
		k, v := n.Content[i], n.Content[i+1]
		key := keyText(k)
		d := top.Of(k)
		if line, ok := seen[key]; ok {
			e.Faults = append(e.Faults, sentence.Fault{File: d.Name, Line: k.Line, Column: k.Column,
				Text: sentence.Quote(key) + " is told twice, first in line " + sentence.FormatNumber(float64(line)), Mend: "take one of them out"})
			continue
		}
		seen[key] = k.Line
		if !strings.ContainsFunc(key, sentence.IsWordRune) {
			e.Faults = append(e.Faults, sentence.Fault{File: d.Name, Line: k.Line, Column: k.Column, Text: "no name stands before this colon", Mend: "write one, or take the line out"})
			continue
		}
		en := sentence.Entry{Key: key, KeyNode: k, Node: v}
		if v.Kind == yaml.ScalarNode {
			en.Sentence = top.Sentence(v)
		}
		out = append(out, en)
	}
	return out
}

// keyText is a key with one space between its words.
func keyText(k *yaml.Node) string {
	s := k.Value
	if spaced := func(r rune) bool { return r != ' ' && unicode.IsSpace(r) }; s == strings.TrimSpace(s) && !strings.Contains(s, "  ") && !strings.ContainsFunc(s, spaced) {
		return s
	}
	return strings.Join(strings.Fields(s), " ")
}

// Each reads the sentences of a section, each by itself. A key without a sentence wants what is said, and mend says how.
func (e *Draft) Each(section, want, mend string, read func(x sentence.Entry)) {
	en, ok := e.Sections[section]
	if !ok {
		return
	}
	for _, x := range e.Entries(en.Node) {
		if x.Sentence == nil {
			e.AddFault(x.KeyNode, sentence.Quote(x.Key)+" wants "+want, mend)
			continue
		}
		e.Try(func() { read(x) })
	}
}

// Sentences gives the sentences of a sequence, or the one of a scalar.
func (e *Draft) Sentences(n *yaml.Node) []*sentence.Sentence {
	switch n.Kind {
	case yaml.ScalarNode:
		if len(n.Value) > 1 && n.Value[0] == '-' && unicode.IsLetter(rune(n.Value[1])) {
			e.AddFault(n, "a dash without a space behind it", "write each sentence of a list behind a dash and a space")
			return nil
		}
		return []*sentence.Sentence{e.Document.Sentence(n)}
	case yaml.SequenceNode:
		var out []*sentence.Sentence
		for _, c := range n.Content {
			if c.Kind != yaml.ScalarNode {
				e.AddFault(c, "a sentence is wanted here, and a colon makes it a key", "take the colon out; two sides of a seam have = between them")
				continue
			}
			out = append(out, e.Document.Sentence(c))
		}
		return out
	}
	e.AddFault(n, "a list of sentences is wanted here", "write each behind a dash and a space")
	return nil
}

// Text is an entry's plain value.
func (e *Draft) Text(en sentence.Entry) string {
	if en.Node.Kind != yaml.ScalarNode {
		e.AddFault(en.KeyNode, sentence.Quote(en.Key)+" wants a few words, not more keys", "")
		return ""
	}
	return strings.TrimSpace(en.Node.Value)
}
