// Package cardtext reads the text of a measure card and changes it: measures, the unit, fittings. What it does not
// change it leaves as it is, comments too.
package cardtext

import (
	"strings"

	yaml "go.yaml.in/yaml/v4"
)

// Measures reads the measures of a card as they are written, and its kind.
func Measures(text []byte) (measures map[string]string, kind string) {
	var c struct {
		Kind     string            `yaml:"kind"`
		Measures map[string]string `yaml:"measures"`
	}
	if yaml.Unmarshal(text, &c) != nil {
		return nil, ""
	}
	return c.Measures, c.Kind
}

// Unit is the unit that a card says, "" where it says none.
func Unit(text []byte) string {
	var c struct {
		Unit string `yaml:"unit"`
	}
	_ = yaml.Unmarshal(text, &c) // of half a card what there is
	return c.Unit
}

// Taken is the day on which a card says that it was taken, "" where it does not.
func Taken(text []byte) string {
	var c struct {
		Taken yaml.Node `yaml:"taken"`
	}
	if yaml.Unmarshal(text, &c) != nil {
		return ""
	}
	return c.Taken.Value
}

// Plain are a card's measures without where they were taken, and whose they are.
func Plain(text []byte) (measures map[string]string, kind string) {
	said, kind := Measures(text)
	measures = map[string]string{}
	for name, v := range said {
		measures[name] = Number(v)
	}
	return measures, kind
}

// Number is a measure without the words behind its comma, which say where it was taken.
func Number(measure string) string {
	number, _, _ := strings.Cut(measure, ",")
	return strings.TrimSpace(number)
}
