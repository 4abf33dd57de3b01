package sentence

import (
	"fmt"
	"strings"

	yaml "go.yaml.in/yaml/v4"
)

// yamlFault says in the words of a draft why it cannot be divided into keys and sentences.
func (d *Document) yamlFault(le *yaml.LoadError) (line, col int, text, mend string) {
	line, col = max(le.Mark.Line, 1), max(le.Mark.Column, 1)
	has := func(s string) bool { return strings.Contains(le.Message, s) }
	switch {
	case has("no documents"):
		return 1, 1, "nothing is in this file", "a draft begins with: style: and its name"
	case has("expected ':'"), has("mapping values are not allowed"):
		if n := d.noColon(line); n > 0 {
			return n, d.indent(n) + 1, fmt.Sprintf("%q has no colon and space behind its name", strings.TrimSpace(string(d.source[n-1]))),
				"write the name, a colon, a space, and then the sentence"
		}
		if n := line - 1; n > 0 && d.indent(line) > d.indent(n) && strings.Contains(string(d.source[n-1]), ": ") {
			return line, d.indent(line) + 1, "this line is indented deeper than the one above it", "indent all lines of one block alike, with spaces"
		}
		if has("mapping values") {
			return line, col, "a second colon stands in one sentence", "begin a new line for the second name, or put the sentence in quotes"
		}
	case has("expected ',' or"):
		return line, col, "a comma is missing here, or the closing bracket", "put a comma between one and the next: {bust: 92, waist: 74}"
	case has("expected key"), has("block mapping"), has("block collection"):
		return line, col, "this line does not stand in line with those of its block", "indent all lines of one block alike, with spaces"
	case has("cannot start any token"):
		return line, col, "a sentence cannot begin with this sign", "put the sentence in quotes"
	case has("unexpected end of stream"), has("found unexpected document"):
		return line, col, "a quote or a bracket is not closed", "look for where it was opened, and close it there"
	}
	return line, col, "the file cannot be read here: " + le.Message, "a sentence that holds a colon and a space, or a #, stands in quotes"
}

// noColon is the nearest line at or before the given one that should begin with a name and a colon and
// does not, 0 for none.
func (d *Document) noColon(line int) int {
	for n := min(line, len(d.source)); n > 0 && n >= line-3; n-- {
		s := strings.TrimSpace(string(d.source[n-1]))
		if s == "" || s[0] == '#' || s[0] == '-' || strings.HasPrefix(s, "{") {
			continue
		}
		s, _, _ = strings.Cut(s, " #")
		if s = strings.TrimSpace(s); !strings.Contains(s, ": ") && !strings.HasSuffix(s, ":") {
			return n
		}
	}
	return 0
}

func (d *Document) indent(line int) int {
	s := string(d.source[line-1])
	return len(s) - len(strings.TrimLeft(s, " "))
}
