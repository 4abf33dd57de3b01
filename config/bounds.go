package config

import (
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	yaml "go.yaml.in/yaml/v4"
	"go.yaml.in/yaml/v4/plugin/loaderlimits"
)

// What a YAML file that a person writes may hold. The longest draft, card or workroom file known has
// under a fifth of each; within these bounds none takes a second to read.
const (
	maxFile  = 128 << 10 // bytes
	maxNodes = 10000     // keys, values and list items, each alias counted as what it stands for
	maxKey   = 200       // letters
	maxValue = 10000     // letters
	maxDepth = 40        // blocks within blocks
)

// Excess refuses a YAML file that is far larger or more entangled than one that a person writes. Line
// and Column are 0 where the whole file is meant.
type Excess struct {
	Line, Column int
	Text, Mend   string
}

func (x *Excess) Error() string { return x.Text + "; " + x.Mend }

// Sized refuses a file that is too long to be looked at.
func Sized(data []byte) error {
	if len(data) <= maxFile {
		return nil
	}
	return &Excess{Text: fmt.Sprintf("the file holds %d KB; at most %d KB are read", len(data)>>10, maxFile>>10), Mend: "see whether it is the right file"}
}

// Tree divides a YAML file into its nodes and gives the top one. The error is *Excess for a file past the
// bounds and *yaml.LoadError for most that is no YAML.
func Tree(data []byte) (*yaml.Node, error) {
	if err := Sized(data); err != nil {
		return nil, err
	}
	var doc yaml.Node
	err := yaml.Load(data, &doc, yaml.WithPlugin(loaderlimits.New(loaderlimits.DepthValue(maxDepth))))
	if err != nil {
		var le *yaml.LoadError
		if errors.As(err, &le) && strings.Contains(le.Message, "exceeded max depth") {
			return nil, &Excess{le.Mark.Line, le.Mark.Column, fmt.Sprintf("more than %d blocks or brackets stand within each other here", maxDepth), "close a bracket, or indent less"}
		}
		return nil, err
	}
	root := &doc
	if root.Kind == yaml.DocumentNode && len(root.Content) > 0 {
		root = root.Content[0]
	}
	left := maxNodes
	return root, within(root, 0, &left)
}

// within refuses what a node and all below it hold too much of. Aliases are followed, so that one that
// stands for itself runs into a bound as well.
func within(n *yaml.Node, depth int, left *int) error {
	if *left--; *left < 0 || depth > maxDepth {
		x := &Excess{n.Line, n.Column, fmt.Sprintf("more than %d keys and values stand before this place", maxNodes), "divide the file, or see whether it is the right one"}
		if depth > maxDepth {
			x.Text, x.Mend = "this stands for itself, or for what stands for something else many times over", "write it out instead of naming it with * and &"
		}
		return x
	}
	if n.Kind == yaml.AliasNode {
		return within(n.Alias, depth+1, left)
	}
	if l := utf8.RuneCountInString(n.Value); l > maxValue {
		return &Excess{n.Line, n.Column, fmt.Sprintf("this value has %d letters; at most %d are read", l, maxValue), "shorten it"}
	}
	for i, c := range n.Content {
		if n.Kind == yaml.MappingNode && i%2 == 0 {
			if l := utf8.RuneCountInString(c.Value); l > maxKey {
				return &Excess{c.Line, c.Column, fmt.Sprintf("this name has %d letters; at most %d are read", l, maxKey), "shorten it"}
			}
		}
		if err := within(c, depth+1, left); err != nil {
			return err
		}
	}
	return nil
}
