package forget

import (
	"regexp"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/config"
)

// said is what a draft, a ticket or a card says of whom it is for.
type said struct {
	// cards are the measure cards that it asks for, bodies the names of the measures that a draft holds itself.
	cards, wearers, bodies []string
}

// saidBy reads a text of YAML. One that is none, as a ticket with a slip, is read line by line: what it was meant to say
// is a person's all the same.
func saidBy(text []byte) (s said) {
	root, err := config.Tree(text)
	if err != nil || root.Kind != yaml.MappingNode {
		for _, m := range lineSaid.FindAllSubmatch(text, -1) {
			s.add(string(m[1]), strings.Trim(strings.TrimSpace(string(m[2])), `"'[]`))
		}
		return s
	}
	s.mapping(root)
	return s
}

// mapping adds what a mapping says, and those within it that say it of one draft of several.
func (s *said) mapping(of *yaml.Node) {
	for i := 0; i+1 < len(of.Content); i += 2 {
		key, value := of.Content[i].Value, named(of.Content[i+1])
		switch {
		case value.Kind == yaml.ScalarNode:
			s.add(key, value.Value)
		case value.Kind == yaml.SequenceNode && key == "sizes", value.Kind == yaml.SequenceNode && key == "bodies":
			for _, one := range value.Content {
				s.add("sizes", named(one).Value)
			}
		case value.Kind == yaml.SequenceNode && key == "with":
			for _, one := range value.Content {
				if one = named(one); one.Kind == yaml.MappingNode {
					s.mapping(one)
				}
			}
		case value.Kind == yaml.MappingNode && key == "bodies":
			for k := 0; k < len(value.Content); k += 2 {
				s.bodies = append(s.bodies, value.Content[k].Value)
			}
		}
	}
}

// lineSaid is a line that says whom a text is for.
var lineSaid = regexp.MustCompile(`(?m)^[\s{]*["']?(body|card|sizes|bodies|wearer)["']?\s*:\s*([^#\r\n]*)`)

func named(n *yaml.Node) *yaml.Node {
	if n.Kind == yaml.AliasNode {
		return n.Alias
	}
	return n
}

func (s *said) add(key, value string) {
	value = strings.TrimSpace(value)
	switch {
	case value == "":
	case key == "wearer":
		s.wearers = append(s.wearers, value)
	case key == "body", key == "card":
		s.cards = append(s.cards, value)
	case key == "sizes", key == "bodies":
		for one := range strings.SplitSeq(value, ",") {
			s.cards = append(s.cards, strings.TrimSpace(one))
		}
	}
}
