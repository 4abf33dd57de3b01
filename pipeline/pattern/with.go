package pattern

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/config"
)

// mostDrafts is how many drafts one ticket may name, each counted once for each of its bodies.
const mostDrafts = 50

// MostTogether bounds the drafts of one job, the bytes of all their files.
const MostTogether = 128 << 20

// longestWith is the longest name of a draft that a ticket names, bytes: it is kept with the job under that name with
// some letters before it.
const longestWith = 200

// With is a draft that a ticket names beside its own. What is zero is as the ticket says for all.
type With struct {
	// File is its whole name, without folders.
	File   string   `yaml:"file"`
	Body   string   `yaml:"body"`
	Bodies []string `yaml:"bodies"`
	Sizes  []string `yaml:"sizes"`
	Pieces []string `yaml:"pieces"`
	Copies Copies   `yaml:"copies"`
}

// Copies is how many are wanted, at least 1; 0 is a ticket that does not say it.
type Copies int

// UnmarshalYAML reads one: a 0 that stands in the ticket is refused, since it would be taken for unsaid.
func (c *Copies) UnmarshalYAML(n *yaml.Node) error {
	if n = Aliased(n); n.ShortTag() == "!!null" {
		return nil
	}
	var i int
	switch err := n.Load(&i); {
	case err != nil || n.Kind != yaml.ScalarNode:
		return fmt.Errorf("wants a whole number, not %q", n.Value)
	case i < 1:
		return fmt.Errorf("%d is no number of copies; write how many are wanted", i)
	}
	*c = Copies(i)
	return nil
}

// UnmarshalYAML reads a name, or a name with what is said of that draft alone.
func (w *With) UnmarshalYAML(n *yaml.Node) error {
	type plain With
	if n.Kind == yaml.ScalarNode {
		w.File = n.Value
	} else if n.Kind != yaml.MappingNode {
		return errors.New("a draft is named as in [a.svg, {file: b.yaml, body: B, copies: 2}]")
	} else if err := config.StrictNode(n, (*plain)(w)); err != nil {
		return err
	}
	switch {
	case !namesDraft(w.File):
		if _, is := TicketOf(w.File); is {
			return fmt.Errorf("%q is a ticket: name the draft that it belongs to", w.File)
		}
		return fmt.Errorf("%q is no name of a draft: write its file's whole name, without folders, a finished file's in visible letters", w.File)
	case w.Body != "" && len(w.Bodies) > 0:
		return fmt.Errorf("%s: say body: for one body or bodies: for several, not both", w.File)
	}
	return nil
}

// namesDraft tells the bare name of a file that may be a draft: no ticket, which would be taken from the draft that it
// belongs to, and none that is on its way to another name. It is printable, since it stands in lists and in a backup.
func namesDraft(name string) bool {
	_, ticket := TicketOf(name)
	return !ticket && !LeftAlone(name) && IsPrintable(name) && len(name) <= longestWith && filepath.Base(name) == name && !strings.ContainsAny(name, `/\`)
}

// WithOf are the drafts that a ticket names beside its own, each once. A ticket with faults names them too, as far as it
// can be read, so that they stay with it.
func WithOf(ticket []byte) []string {
	root, err := config.Tree(ticket)
	if err != nil || root.Kind != yaml.MappingNode {
		return nil
	}
	var out []string
	for i := 0; i+1 < len(root.Content); i += 2 {
		if root.Content[i].Value != "with" {
			continue
		}
		all := []*yaml.Node{Aliased(root.Content[i+1])}
		if all[0].Kind == yaml.SequenceNode {
			all = all[0].Content
		}
		for _, n := range all {
			n = Aliased(n)
			for k := 0; k+1 < len(n.Content); k += 2 {
				if n.Content[k].Value == "file" {
					n = Aliased(n.Content[k+1])
					break
				}
			}
			if n.Kind == yaml.ScalarNode && namesDraft(n.Value) && !slices.Contains(out, n.Value) {
				out = append(out, n.Value)
			}
		}
	}
	return out
}

// Aliased is what a node stands for.
func Aliased(n *yaml.Node) *yaml.Node {
	if n.Kind == yaml.AliasNode {
		return n.Alias
	}
	return n
}

// Wanted is one draft that a ticket wants, with what it says of that one.
type Wanted struct {
	File   string
	Ticket Ticket
	// Entry counts the drafts that are named, 0 for the ticket's own: several with one Entry are one draft for several
	// bodies. Own is what the ticket says of this draft alone.
	Entry int
	Own   With
}

// Each are the drafts that a ticket wants, its own first, whose file is called own. A draft stands there once for each of
// its bodies.
func (t Ticket) Each(own string) (all []Wanted) {
	for i, w := range append([]With{{File: own}}, t.With...) {
		one := t
		one.With, one.Bodies = nil, nil
		bodies := t.Bodies
		if w.Body != "" || len(w.Bodies) > 0 {
			one.Body, bodies = w.Body, w.Bodies
		}
		if len(w.Sizes) > 0 {
			one.Sizes = w.Sizes
		}
		if len(w.Pieces) > 0 {
			one.Pieces = w.Pieces
		}
		if w.Copies > 0 {
			one.Copies = w.Copies
		}
		if len(bodies) == 0 {
			bodies = []string{one.Body}
		}
		for _, b := range bodies {
			one.Body = b
			all = append(all, Wanted{w.File, one, i, w})
		}
	}
	return all
}
