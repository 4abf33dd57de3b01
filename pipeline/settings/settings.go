// Package settings lists what is in force of a workroom file, for people to read: each key with its value and its line, and
// nothing of what hooks are told where. Settings are written in the file alone.
package settings

import (
	"fmt"
	"os"
	"slices"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/config"
)

// Row is a key of the workroom file as one writes it, with what is in force. Line is where the file says it, 0 where it does
// not and the usual value counts.
type Row struct {
	Key, Value string
	Line       int
}

// Part is a part of the file: a device, a material, or what belongs together.
type Part struct {
	Title string
	Rows  []Row
}

// secret are the keys of which it is told only whether they are set: programs and addresses that hooks call.
var secret = []string{"command", "post"}

// each are the keys under which each name is a part of its own.
var each = map[string]string{"materials": "Material ", "devices": "Device "}

// Of lists what is in force. The lines are those of the file as it is now; it may have been edited since it was read.
func Of(room *config.Workroom) ([]Part, error) {
	var all, written yaml.Node
	text, err := yaml.Marshal(room)
	if err == nil {
		err = yaml.Unmarshal(text, &all)
	}
	if err != nil {
		return nil, fmt.Errorf("listing the settings: %w", err)
	}
	lines := map[string]int{}
	if now, err := os.ReadFile(room.File); err == nil && yaml.Unmarshal(now, &written) == nil { // else no line is told
		walk(&written, nil, func(path []string, n *yaml.Node) { lines[strings.Join(path, ".")] = n.Line })
	}
	first := Part{Title: "Workroom"}
	var named, out []Part
	walk(&all, nil, func(path []string, n *yaml.Node) {
		if n.Kind == yaml.MappingNode && len(n.Content) > 0 {
			return
		}
		key := strings.Join(path, ".")
		row := Row{Key: key, Value: valueOf(n), Line: lines[key]}
		if row.Line == 0 && slices.Contains([]string{"", "0", "false", "0s", unset, `""`, "{}", "[]"}, row.Value) {
			return // what is neither said nor usual
		}
		if slices.Contains(secret, path[len(path)-1]) {
			row.Value = map[bool]string{true: "not set", false: "set"}[slices.Contains([]string{"", unset, `""`, "[]"}, row.Value)]
		}
		if len(path) == 1 {
			first.Rows = append(first.Rows, row)
			return
		}
		title := strings.ToUpper(path[0][:1]) + path[0][1:]
		into := &out
		if kind := each[path[0]]; kind != "" {
			title, into = kind+path[1], &named
		}
		i := slices.IndexFunc(*into, func(p Part) bool { return p.Title == title })
		if i < 0 {
			*into = append(*into, Part{Title: title})
			i = len(*into) - 1
		}
		(*into)[i].Rows = append((*into)[i].Rows, row)
	})
	slices.SortFunc(named, func(a, b Part) int { return strings.Compare(a.Title, b.Title) })
	return append(append([]Part{first}, out...), named...), nil
}

// walk visits the values under a node, each with its keys.
func walk(n *yaml.Node, path []string, visit func(path []string, n *yaml.Node)) {
	switch n.Kind {
	case yaml.DocumentNode:
		for _, c := range n.Content {
			walk(c, path, visit)
		}
		return
	case yaml.AliasNode:
		walk(n.Alias, path, visit)
		return
	}
	if len(path) > 0 {
		visit(path, n)
	}
	if n.Kind != yaml.MappingNode {
		return
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		walk(n.Content[i+1], append(slices.Clone(path), n.Content[i].Value), visit)
	}
}

// unset is told of a key that has no value.
const unset = "not set"

// valueOf writes a value as the file would have it in one line.
func valueOf(n *yaml.Node) string {
	switch {
	case n.Kind == yaml.MappingNode:
		return "{}"
	case n.Kind != yaml.SequenceNode && n.Tag == "!!null":
		return unset
	case n.Kind != yaml.SequenceNode && n.Value == "":
		return `""`
	case n.Kind != yaml.SequenceNode:
		return n.Value
	case len(n.Content) == 0:
		return "[]"
	}
	var all []string
	for _, c := range n.Content {
		one := valueOf(c)
		if c.Kind == yaml.SequenceNode {
			one = "[" + one + "]"
		}
		all = append(all, one)
	}
	return strings.Join(all, ", ")
}
