package desk

import (
	"strings"

	yaml "go.yaml.in/yaml/v4"
)

// cardOf reads the measures of a card as they are written, and its kind.
func cardOf(text []byte) (measures map[string]string, kind string) {
	var c struct {
		Kind     string            `yaml:"kind"`
		Measures map[string]string `yaml:"measures"`
	}
	if yaml.Unmarshal(text, &c) != nil {
		return nil, ""
	}
	return c.Measures, c.Kind
}

// unitOn is the unit that a card says, "" where it says none.
func unitOn(text []byte) string {
	var c struct {
		Unit string `yaml:"unit"`
	}
	_ = yaml.Unmarshal(text, &c) // of half a card what there is
	return c.Unit
}

// takenOf is the day on which a card says that it was taken, "" where it does not.
func takenOf(text []byte) string {
	var c struct {
		Taken yaml.Node `yaml:"taken"`
	}
	if yaml.Unmarshal(text, &c) != nil {
		return ""
	}
	return c.Taken.Value
}

// card are the measures of a card, without where they were taken.
func (d *Desk) card(name string) (measures map[string]string, kind string) {
	file, err := fileOf(d.o.Cards, name)
	if err != nil {
		return nil, ""
	}
	text, err := readPlain(file)
	if err != nil {
		return nil, ""
	}
	said, kind := cardOf(text)
	out := map[string]string{}
	for name, v := range said {
		out[name] = numberOf(v)
	}
	return out, kind
}

// numberOf is a measure without the words behind its comma, which say where it was taken.
func numberOf(measure string) string {
	number, _, _ := strings.Cut(measure, ",")
	return strings.TrimSpace(number)
}
