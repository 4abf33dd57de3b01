// Package cardtext reads and changes the text of a measure card: measures, the unit, fittings. It takes and gives the
// card's text, and keeps everything else in it, comments too.
package cardtext

import (
	"strings"

	yaml "go.yaml.in/yaml/v4"
)

// Values are measures by name, as a card or a draft has them. Between { and } YAML splits "shoulder: 9,5" at its
// comma; here it is one value.
type Values map[string]string

// UnmarshalYAML reads what it can of a damaged mapping.
func (v *Values) UnmarshalYAML(n *yaml.Node) error {
	plain := map[string]string{}
	_ = n.Decode(&plain) // a partial card gives what can be read
	for _, p := range parted(n) {
		plain[n.Content[p-2].Value] += "," + n.Content[p].Value
		delete(plain, n.Content[p].Value)
	}
	*v = plain
	return nil
}

// parted are the indexes of the keys in a mapping that are the rest of the number before them.
func parted(n *yaml.Node) (out []int) {
	if n == nil || n.Kind != yaml.MappingNode {
		return nil
	}
	for i := 2; i+1 < len(n.Content); i += 2 {
		if before := n.Content[i-1]; before.Kind == yaml.ScalarNode && digits(before.Value) && digits(n.Content[i].Value) && n.Content[i+1].Tag == "!!null" {
			out = append(out, i)
		}
	}
	return out
}

// digits reports whether a text is a whole number.
func digits(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }

// Measures reads the measures of a card as they are written, and its kind.
func Measures(text []byte) (measures map[string]string, kind string) {
	var c struct {
		Kind     string `yaml:"kind"`
		Measures Values `yaml:"measures"`
	}
	if yaml.Unmarshal(text, &c) != nil {
		return nil, ""
	}
	return c.Measures, c.Kind
}

// Lines are the names of a card's measures by line number; none where several are on one line.
func Lines(text []byte) map[int]string {
	var doc yaml.Node
	if yaml.Unmarshal(text, &doc) != nil || len(doc.Content) == 0 {
		return nil
	}
	out := map[int]string{}
	if list := Under(doc.Content[0], "measures"); list != nil && list.Kind == yaml.MappingNode && list.Style&yaml.FlowStyle == 0 {
		for i := 0; i+1 < len(list.Content); i += 2 {
			out[list.Content[i].Line] = list.Content[i].Value
		}
	}
	return out
}

// Unit is the unit of a card, "" where it has none.
func Unit(text []byte) string {
	var c struct {
		Unit string `yaml:"unit"`
	}
	_ = yaml.Unmarshal(text, &c) // a partial card gives what can be read
	return c.Unit
}

// Taken is the day on which a card was taken, "" where it does not say it.
func Taken(text []byte) string {
	var c struct {
		Taken yaml.Node `yaml:"taken"`
	}
	if yaml.Unmarshal(text, &c) != nil {
		return ""
	}
	return c.Taken.Value
}

// Plain are a card's measures without the notes where they were taken, and its kind.
func Plain(text []byte) (measures map[string]string, kind string) {
	said, kind := Measures(text)
	measures = map[string]string{}
	for name, v := range said {
		measures[name] = Number(v)
	}
	return measures, kind
}

// Parts are a measure's number and the words after its comma, which say where it was taken. A comma before a digit is
// part of the number, as for the readers of drafts: "9,5, low" is the number "9,5".
func Parts(measure string) (number, where string, told bool) {
	for i, c := range measure {
		if rest := measure[i:]; c == ',' && (len(rest) == 1 || !digits(rest[1:2])) {
			return strings.TrimSpace(measure[:i]), rest[1:], true
		}
	}
	return strings.TrimSpace(measure), "", false
}

// Number is a measure without the words after its comma.
func Number(measure string) string {
	number, _, _ := Parts(measure)
	return number
}
