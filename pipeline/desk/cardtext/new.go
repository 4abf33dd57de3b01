package cardtext

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
)

// Kinds are the kinds of wearers whose usual measures are known.
var Kinds = []string{"woman", "man", "child"}

// New is a card of measures in unit, with their names by line number; kind is one of Kinds, or "" where it is not
// known.
func New(unit, wearer, kind string, measures map[string]string) (text []byte, lines map[int]string) {
	lines = map[int]string{}
	var b strings.Builder
	fmt.Fprintf(&b, "unit: %s\n", unit)
	if wearer != "" {
		fmt.Fprintf(&b, "wearer: %s\n", Quote(wearer))
	}
	if slices.Contains(Kinds, kind) {
		fmt.Fprintf(&b, "kind: %s\n", kind)
	}
	b.WriteString("measures:\n")
	names := make([]string, 0, len(measures))
	for name := range measures {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		if v := strings.TrimSpace(measures[name]); v != "" {
			lines[strings.Count(b.String(), "\n")+1] = name
			fmt.Fprintf(&b, "  %s: %s\n", Quote(name), Quote(v))
		}
	}
	return []byte(b.String()), lines
}

// Quote writes a text as YAML, on one line.
func Quote(s string) string {
	text, err := json.Marshal(s) // JSON is YAML
	if err != nil {
		return `""`
	}
	return string(text)
}
