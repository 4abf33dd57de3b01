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

// numberOf is a measure without the words behind its comma, which say where it was taken.
func numberOf(measure string) string {
	number, _, _ := strings.Cut(measure, ",")
	return strings.TrimSpace(number)
}

// changesOn are the fittings of a card as a card has them, in its unit; "" where there are none.
func changesOn(text []byte) string {
	var doc yaml.Node
	if yaml.Unmarshal(text, &doc) != nil || len(doc.Content) == 0 {
		return ""
	}
	changes := under(doc.Content[0], "changes")
	if changes == nil || changes.Kind != yaml.MappingNode || len(changes.Content) == 0 {
		return ""
	}
	out, err := yaml.Marshal(map[string]*yaml.Node{"changes": changes})
	if err != nil {
		return ""
	}
	return string(out)
}
