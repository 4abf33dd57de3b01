// Package sharing takes the text of a draft and gives it without its wearer, to be sent to others. It knows no page.
package sharing

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/desk/cardtext"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
)

// Plain is a draft without a person's measures: card and wearer are removed, and body and sizes where they name no
// body of the draft, with the comments above, beside and below them. Other lines stay as they are, with \n line ends;
// comments with one of the removed names are removed. A draft in which these keys cannot be found with certainty, or
// that has such a name elsewhere, is refused. from are the drafts that it takes from: their wearers' names are removed
// too.
func Plain(draft []byte, from ...[]byte) ([]byte, error) { return without(draft, false, from) }

// Bare is Plain without the draft's own bodies too: it is then drawn for a card.
func Bare(draft []byte, from ...[]byte) ([]byte, error) { return without(draft, true, from) }

func without(draft []byte, bodies bool, from [][]byte) ([]byte, error) {
	text := strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(strings.TrimPrefix(string(draft), "\ufeff"))
	if _, faults := sentence.ParseDoc([]byte(text), "the draft"); faults != nil {
		return nil, fmt.Errorf("the draft is not shared, since it cannot be seen where it names its wearer: %w", &sentence.Error{Draft: "the draft", List: faults})
	}
	var doc yaml.Node
	if err := yaml.Unmarshal([]byte(text), &doc); err != nil { // with the comments
		return nil, err
	}
	root := doc.Content[0]
	names := wearersOf(from)
	lines, line, kept := "", 1, []*yaml.Node{} // lines are the kept ones before line
	all := strings.SplitAfter(text, "\n")
	for i := 0; i+1 < len(root.Content); i += 2 {
		key, value := root.Content[i], root.Content[i+1]
		wearers := ofAWearer(root, key, value)
		if !wearers && !(bodies && slices.Contains([]string{"bodies", "body", "sizes"}, keyOf(key))) {
			kept = append(kept, key, value)
			continue
		}
		if wearers {
			names = append(names, nameIn(key, value))
		}
		next := len(all) + 1
		if i+2 < len(root.Content) {
			next = headOfKey(all, root.Content[i+2], key.Line)
		}
		lines += strings.Join(all[line-1:max(line, aboveKey(all, key.Line))-1], "")
		line = max(next, line)
	}
	out := []byte(lines + strings.Join(all[line-1:], ""))
	root.Content = kept
	if reads(out, root) {
		out = unnamed(out, root, names)
		return out, refuseNames(out, names)
	}
	out, err := cardtext.Written(&doc) // several keys are on one line
	if err == nil && reads(out, root) {
		out = unnamed(out, root, names)
		err = refuseNames(out, names)
	} else if err == nil {
		err = errors.New("the draft is not shared: the wearer's name, the card or the measures stand in other lines too, by & and *; write those out")
	}
	return out, err
}

// wearersOf are the names of wearers in drafts.
func wearersOf(drafts [][]byte) (names []string) {
	for _, text := range drafts {
		var doc yaml.Node
		if yaml.Unmarshal(text, &doc) != nil || len(doc.Content) == 0 || doc.Content[0].Kind != yaml.MappingNode {
			continue // nothing was taken from it
		}
		root := doc.Content[0]
		for i := 0; i+1 < len(root.Content); i += 2 {
			if key, value := root.Content[i], root.Content[i+1]; ofAWearer(root, key, value) {
				names = append(names, nameIn(key, value))
			}
		}
	}
	return names
}

func keyOf(n *yaml.Node) string { return strings.ToLower(cardtext.OneLine(n.Value)) }

// ofAWearer reports whether an entry of a draft names whose measures it takes.
func ofAWearer(root, key, value *yaml.Node) bool {
	own := func(name string) bool {
		for i := 0; i+1 < len(root.Content); i += 2 {
			if keyOf(root.Content[i]) == "bodies" && cardtext.Under(root.Content[i+1], name) != nil {
				return true
			}
		}
		return false
	}
	switch keyOf(key) {
	case "card", "wearer":
		return true
	case "body":
		return !own(strings.TrimSpace(value.Value))
	case "sizes":
		return slices.ContainsFunc(drafting.SizesOf(value), func(name string) bool { return !own(name) })
	}
	return false
}

// nameIn is the name in a removed entry, "" for none or several.
func nameIn(key, value *yaml.Node) string {
	if value.Kind == yaml.AliasNode {
		value = value.Alias
	}
	if value.Kind != yaml.ScalarNode || keyOf(key) == "sizes" {
		return ""
	}
	return pattern.TrimYAML(cardtext.OneLine(value.Value))
}

// whole finds a name as whole words, in upper or lower case.
func whole(name string) *regexp.Regexp {
	return regexp.MustCompile(`(?i)(^|[^\pL\pN])` + strings.ReplaceAll(regexp.QuoteMeta(name), " ", `\s+`) + `($|[^\pL\pN])`)
}

// comments finds comments: consecutive lines of them, or one after something else.
var comments = regexp.MustCompile(`(?m)(?:^[ \t]*#.*\n?)+|[ \t]+#.*$`)

// unnamed removes the comments with one of the names from a text that reads as the tree. Where that would change what
// is read, as in a quoted text, nothing is removed.
func unnamed(text []byte, root *yaml.Node, names []string) []byte {
	out := comments.ReplaceAllFunc(text, func(said []byte) []byte {
		if slices.ContainsFunc(names, func(name string) bool { return name != "" && whole(name).Match(said) }) {
			return nil
		}
		return said
	})
	if !reads(out, root) {
		return text
	}
	return out
}

// refuseNames is an error where a line of the text has one of the names as whole words, in upper or lower case.
func refuseNames(text []byte, names []string) error {
	for _, name := range names {
		if name == "" {
			continue
		}
		is := whole(name)
		for line := range strings.Lines(string(text)) {
			if is.MatchString(line) {
				return fmt.Errorf("the draft is not shared, since whom it is for stands in another line too: take %q out of the line %q", name, strings.TrimSpace(line))
			}
		}
	}
	return nil
}

// aboveKey is the first line of the comments right above the line of a key.
func aboveKey(all []string, line int) int {
	for line > 1 && strings.HasPrefix(strings.TrimSpace(all[line-2]), "#") {
		line--
	}
	return line
}

// headOfKey is the line, after the given one, where the comment above a key begins.
func headOfKey(all []string, key *yaml.Node, after int) int {
	line := key.Line
	for left := strings.Count(key.HeadComment, "#"); left > 0 && line-1 > after; line-- {
		left -= strings.Count(all[line-2], "#")
	}
	return line
}

// reads reports whether a text reads as exactly the tree.
func reads(text []byte, root *yaml.Node) bool {
	doc, faults := sentence.ParseDoc(text, "")
	return faults == nil && same(doc.Root, root)
}

func same(a, b *yaml.Node) bool {
	return a.Kind == b.Kind && a.Value == b.Value && slices.EqualFunc(a.Content, b.Content, same)
}
