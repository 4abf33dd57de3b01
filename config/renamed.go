package config

import (
	"fmt"
	"slices"
	"strings"

	yaml "go.yaml.in/yaml/v4"
)

// rename is a key of the workroom file that has a new name. Path leads to the old one; * stands for any
// device or material.
type rename struct {
	path string // devices.*.port.speed
	to   string // baud
	// values are old values with their new ones, nil where they stay.
	values map[string]string
}

// renamed are all of them, oldest first: a key that gets another name gets a line here, and no line is
// ever taken out.
var renamed = []rename{{"materials.*.one_way", "nap", map[string]string{"true": "all", "false": "none"}}}

// renew gives old keys their new names in the tree and lists what was found, for the person. A file that
// holds both names has a fault.
func renew(root *yaml.Node, list []rename, faults *Faults) []string {
	var notes []string
	for _, r := range list {
		path := strings.Split(r.path, ".")
		for _, m := range under(root, path[:len(path)-1]) {
			old, now := path[len(path)-1], at(m, r.to)
			for i := 0; i+1 < len(m.Content); i += 2 {
				k := m.Content[i]
				if k.Value != old {
					continue
				}
				if now != m {
					faults.add(k, old, "is the old name of %s, which is given too; take one out", r.to)
					continue
				}
				k.Value = r.to
				if v := m.Content[i+1]; r.values[v.Value] != "" {
					v.Value, v.Tag = r.values[v.Value], "!!str"
				}
				notes = append(notes, fmt.Sprintf("%s:%d:%d: %s is called %s now; it is read all the same", faults.File, k.Line, k.Column, old, r.to))
			}
		}
	}
	return notes
}

// under lists the mappings that a path of keys leads to.
func under(n *yaml.Node, path []string) []*yaml.Node {
	if n.Kind == yaml.AliasNode {
		n = n.Alias
	}
	if n.Kind != yaml.MappingNode {
		return nil
	}
	if len(path) == 0 {
		return []*yaml.Node{n}
	}
	var out []*yaml.Node
	for i := 0; i+1 < len(n.Content); i += 2 {
		if path[0] != "*" && path[0] != n.Content[i].Value {
			continue
		}
		for _, m := range under(n.Content[i+1], path[1:]) {
			if !slices.Contains(out, m) {
				out = append(out, m) // an alias leads to one more than once
			}
		}
	}
	return out
}
