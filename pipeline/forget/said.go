package forget

import (
	"regexp"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/config"
	"tracewheel/pipeline/pattern"
)

// said holds for whom a draft, a ticket or a card is, as it says.
type said struct {
	// cards are the measure cards that it names, bodies the names of the measures in a draft.
	cards, wearers, bodies []string
}

// saidBy reads a text of YAML. A text that is no YAML, such as a ticket with a slip, is read line by line, because it
// still names a person.
func saidBy(text []byte) (s said) {
	root, err := config.Tree(text)
	if err != nil || root.Kind != yaml.MappingNode {
		s.lines(string(text))
		return s
	}
	s.mapping(root)
	return s
}

// mapping adds what a mapping says, and those in it that concern one draft of several.
func (s *said) mapping(of *yaml.Node) {
	for i := 0; i+1 < len(of.Content); i += 2 {
		key, value := of.Content[i].Value, pattern.Aliased(of.Content[i+1])
		switch {
		case value.Kind == yaml.ScalarNode:
			s.add(key, value.Value)
		case value.Kind == yaml.SequenceNode && key == "sizes", value.Kind == yaml.SequenceNode && key == "bodies":
			for _, one := range value.Content {
				s.add("sizes", pattern.Aliased(one).Value)
			}
		case value.Kind == yaml.SequenceNode && key == "with":
			for _, one := range value.Content {
				if one = pattern.Aliased(one); one.Kind == yaml.MappingNode {
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

// keySaid matches a key that says for whom a text is, at the beginning of a line, of an item or within braces.
var keySaid = regexp.MustCompile(`(?m)(?:^|[{,\[])[\s{\[-]*["']?(body|card|sizes|bodies|wearer)["']?\s*:`)

// lines adds what the lines of a text that is no YAML say. What follows a key counts to the end of its line, and also to
// the next comma or brace, and so do the lines after it without another key, such as the items of a list: it is better to
// take too much than to miss a person.
func (s *said) lines(text string) {
	for _, m := range keySaid.FindAllStringSubmatchIndex(text, -1) {
		key := text[m[2]:m[3]]
		one, list := false, key == "sizes" || key == "bodies"
		own := true // the key's own line
		for line := range strings.SplitSeq(text[m[1]:], "\n") {
			line, _, _ = strings.Cut(line, "#")
			if !own && (strings.Contains(line, ":") || one && !list) {
				break
			}
			first := line
			own, one = false, one || strings.Trim(line, marks) != ""
			if at := strings.IndexAny(line, ",}"); at >= 0 {
				first = line[:at]
				for part := range strings.SplitSeq(line, ",") {
					if key != "wearer" {
						s.add(key, strings.Trim(part, marks))
					}
				}
			}
			s.add(key, strings.Trim(first, marks))
			s.add(key, strings.Trim(line, marks))
		}
	}
}

// marks are those of YAML around a name.
const marks = " \t\r\"'[]{}-"

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
