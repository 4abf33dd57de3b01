package config

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
	"unicode/utf8"

	yaml "go.yaml.in/yaml/v4"
)

// Fault is one mistake in a YAML file, for the person who wrote it.
type Fault struct {
	Line, Column int
	// Key is the path of keys to the place: "devices.knife-table.blade.offset".
	Key string
	// Text says what is wrong and what would be right.
	Text string
}

// Faults are all mistakes of one file, in the order of its lines.
type Faults struct {
	File string
	List []Fault
	// bad are the keys and values that are blamed.
	bad map[*yaml.Node]bool
}

// Error gives a line for each fault: file:line:column: key: text.
func (f *Faults) Error() string {
	var b strings.Builder
	for i, ft := range f.List {
		if i > 0 {
			b.WriteByte('\n')
		}
		b.WriteString(f.File)
		if ft.Line > 0 {
			fmt.Fprintf(&b, ":%d:%d", ft.Line, ft.Column)
		}
		b.WriteString(": ")
		if ft.Key != "" {
			b.WriteString(ft.Key + ": ")
		}
		b.WriteString(ft.Text)
	}
	return b.String()
}

func (f *Faults) add(n *yaml.Node, key, format string, args ...any) {
	ft := Fault{Key: key, Text: fmt.Sprintf(format, args...)}
	if n != nil {
		ft.Line, ft.Column = n.Line, n.Column
		if f.bad == nil {
			f.bad = map[*yaml.Node]bool{}
		}
		f.bad[n] = true
	}
	f.List = append(f.List, ft)
}

// sound copies a tree without the keys that are blamed, so that what stands beside them can be looked
// at as well; nil where the top itself is blamed.
func (f *Faults) sound(n *yaml.Node) *yaml.Node {
	if n.Kind == yaml.AliasNode {
		n = n.Alias
	}
	if f.bad[n] {
		return nil
	}
	out := *n
	out.Content = nil
	for i, c := range n.Content {
		if n.Kind == yaml.MappingNode {
			if i%2 == 0 {
				continue
			}
			if k, v := n.Content[i-1], f.sound(c); !f.bad[k] && v != nil {
				out.Content = append(out.Content, k, v)
			}
			continue
		}
		v := f.sound(c)
		if v == nil {
			return nil // a list is whole or not there
		}
		out.Content = append(out.Content, v)
	}
	return &out
}

func (f *Faults) orNil() error {
	if len(f.List) == 0 {
		return nil
	}
	slices.SortStableFunc(f.List, func(a, b Fault) int { return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column)) })
	if more := len(f.List) - maxFaults; more > 0 {
		f.List = append(f.List[:maxFaults], Fault{Line: f.List[maxFaults].Line, Text: fmt.Sprintf("and %d more faults", more)})
	}
	return f
}

// maxFaults is how many faults of one file are told; nobody reads more at once.
const maxFaults = 200

// Strict reads YAML into a pointer to a struct and refuses what the struct does not know: unknown
// keys (with the nearest right one), wrong types, keys given twice. All faults come back at once,
// as *Faults. An empty file leaves the struct as it is.
func Strict(data []byte, file string, into any) error {
	root, faults := parse(data, file)
	if err := faults.orNil(); err != nil || root == nil {
		return err
	}
	faults.walk(root, reflect.TypeOf(into).Elem(), "")
	if err := faults.orNil(); err != nil {
		return err
	}
	if err := root.Load(into); err != nil {
		faults.add(root, "", "%v", err)
	}
	return faults.orNil()
}

// StrictNode reads a part of YAML into a pointer as Strict reads a whole file. It is for a type that reads itself, and
// the keys of its faults begin there.
func StrictNode(n *yaml.Node, into any) error {
	faults := &Faults{}
	faults.walk(n, reflect.TypeOf(into).Elem(), "")
	if err := faults.orNil(); err != nil {
		return err
	}
	return n.Load(into)
}

// FaultOf blames the value of a key at the top of a file that is read already.
func FaultOf(data []byte, file, key, text string) error {
	faults := &Faults{File: file}
	root, _ := parse(data, file)
	if root != nil {
		for i := 0; i+1 < len(root.Content); i += 2 {
			if root.Content[i].Value == key {
				faults.add(root.Content[i+1], key, "%s", text)
				return faults
			}
		}
	}
	faults.add(root, key, "%s", text)
	return faults
}

// parse gives the top node, nil for an empty file.
func parse(data []byte, file string) (*yaml.Node, *Faults) {
	faults := &Faults{File: file}
	root, err := Tree(data)
	if err != nil {
		var le *yaml.LoadError
		var over *Excess
		if strings.Contains(err.Error(), "no documents") {
			return nil, faults
		}
		if errors.As(err, &over) {
			faults.List = append(faults.List, Fault{Line: over.Line, Column: over.Column, Text: over.Error()})
		} else if errors.As(err, &le) {
			line, column := le.Mark.Line, le.Mark.Column
			if line < 1 { // of a letter that is none it gives no place
				line, column = firstUnsound(data), 1
			}
			faults.List = append(faults.List, Fault{Line: line, Column: column,
				Text: "this is not valid YAML here: " + le.Message})
		} else {
			faults.List = append(faults.List, Fault{Line: 1, Column: 1, Text: "this is not valid YAML: " + err.Error()})
		}
		return nil, faults
	}
	if root.Kind == yaml.DocumentNode || root.Kind == yaml.ScalarNode && root.ShortTag() == "!!null" {
		return nil, faults // nothing is in it
	}
	return root, faults
}

// firstUnsound is the first line that holds bytes which are no UTF-8, 1 where there is none.
func firstUnsound(data []byte) int {
	line := 1
	for row := range bytes.SplitSeq(data, []byte("\n")) {
		if !utf8.Valid(row) {
			return line
		}
		line++
	}
	return 1
}

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
