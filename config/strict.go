package config

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
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
