package config

import (
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"

	yaml "go.yaml.in/yaml/v4"
)

// custom is what a type may bring to read itself.
type custom interface{ UnmarshalYAML(*yaml.Node) error }

var customType = reflect.TypeOf((*custom)(nil)).Elem()

// walk compares a node with the type that is to take it.
func (f *Faults) walk(n *yaml.Node, t reflect.Type, key string) {
	if n.Kind == yaml.AliasNode {
		n = n.Alias
	}
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if reflect.PointerTo(t).Implements(customType) {
		v := reflect.New(t)
		var within *Faults
		if err := v.Interface().(custom).UnmarshalYAML(n); errors.As(err, &within) {
			for _, ft := range within.List {
				f.add(n, join(key, ft.Key), "%s", ft.Text)
				last := &f.List[len(f.List)-1]
				last.Line, last.Column = ft.Line, ft.Column
			}
		} else if err != nil {
			f.add(n, key, "%v", err)
		}
		return
	}
	if n.Kind == yaml.ScalarNode && n.ShortTag() == "!!null" {
		return // a key with nothing after it keeps its default
	}
	switch t.Kind() {
	case reflect.Struct:
		f.walkStruct(n, t, key)
	case reflect.Map:
		if f.isMapping(n, key) {
			for i := 0; i+1 < len(n.Content); i += 2 {
				f.walk(n.Content[i+1], t.Elem(), join(key, n.Content[i].Value))
			}
			f.twice(n, key)
		}
	case reflect.Slice, reflect.Array:
		f.walkList(n, t, key)
	default:
		f.walkScalar(n, t, key)
	}
}

func (f *Faults) walkStruct(n *yaml.Node, t reflect.Type, key string) {
	if !f.isMapping(n, key) {
		return
	}
	fields := keysOf(t)
	for i := 0; i+1 < len(n.Content); i += 2 {
		k := n.Content[i]
		ft, ok := fields[k.Value]
		if !ok {
			f.add(k, join(key, k.Value), "there is no such key%s", hint(k.Value, slices.Sorted(maps.Keys(fields))))
			continue
		}
		f.walk(n.Content[i+1], ft, join(key, k.Value))
	}
	f.twice(n, key)
}

func (f *Faults) walkList(n *yaml.Node, t reflect.Type, key string) {
	if n.Kind != yaml.SequenceNode {
		f.add(n, key, "wants a list, as in [a, b]")
		return
	}
	if t.Kind() == reflect.Array && len(n.Content) != t.Len() {
		f.add(n, key, "wants %d values, not %d", t.Len(), len(n.Content))
	}
	for i, c := range n.Content {
		f.walk(c, t.Elem(), fmt.Sprintf("%s[%d]", key, i))
	}
}

func (f *Faults) walkScalar(n *yaml.Node, t reflect.Type, key string) {
	wants := map[reflect.Kind]string{
		reflect.Int: "a whole number", reflect.Float64: "a number, with a point and no unit",
		reflect.Bool: "true or false", reflect.String: "words",
	}[t.Kind()]
	if n.Kind != yaml.ScalarNode {
		f.add(n, key, "wants %s", wants)
		return
	}
	if t.Kind() == reflect.String && n.ShortTag() != "!!str" {
		return // `size: 12` is a size all the same
	}
	if err := n.Load(reflect.New(t).Interface()); err != nil {
		f.add(n, key, "wants %s, not %q", wants, n.Value)
	}
}

func (f *Faults) isMapping(n *yaml.Node, key string) bool {
	if n.Kind == yaml.MappingNode {
		return true
	}
	f.add(n, key, "wants keys with values under it")
	return false
}

func (f *Faults) twice(n *yaml.Node, key string) {
	seen := map[string]int{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		k := n.Content[i]
		if first, ok := seen[k.Value]; ok {
			f.add(k, join(key, k.Value), "was given already in line %d", first)
			continue
		}
		seen[k.Value] = k.Line
	}
}

// keysOf maps the YAML keys of a struct type to the types of its fields, inlined ones included.
func keysOf(t reflect.Type) map[string]reflect.Type {
	out := map[string]reflect.Type{}
	for i := range t.NumField() {
		fd := t.Field(i)
		name, opts, _ := strings.Cut(fd.Tag.Get("yaml"), ",")
		switch {
		case strings.Contains(opts, "inline"):
			maps.Copy(out, keysOf(fd.Type))
		case name != "" && name != "-":
			out[name] = fd.Type
		}
	}
	return out
}

// at finds the value node under a path of keys, or the deepest that exists.
func at(n *yaml.Node, path ...string) *yaml.Node {
	for _, p := range path {
		if n == nil || n.Kind != yaml.MappingNode {
			return n
		}
		found := false
		for i := 0; i+1 < len(n.Content); i += 2 {
			if n.Content[i].Value == p {
				n, found = n.Content[i+1], true
				break
			}
		}
		if !found {
			return n
		}
	}
	return n
}

func join(key, next string) string {
	if key == "" {
		return next
	}
	return key + "." + next
}
