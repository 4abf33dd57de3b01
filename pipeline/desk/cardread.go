package desk

import (
	"path/filepath"
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

// cardFile is the file of the card that the drafts of the folder find by a name, and what it holds: beside them, or in
// the folder of cards. The error wraps fs.ErrNotExist where there is none.
func (d *Desk) cardFile(name string) (file string, text []byte, err error) {
	return d.maker().CardFor(filepath.Join(d.o.Drafts, "draft.yaml"), name)
}

// plainMeasures are a card's measures without where they were taken, and whose they are.
func plainMeasures(text []byte) (measures map[string]string, kind string) {
	said, kind := cardOf(text)
	measures = map[string]string{}
	for name, v := range said {
		measures[name] = numberOf(v)
	}
	return measures, kind
}

// card are the measures of a card, without where they were taken, and whose they are.
func (d *Desk) card(name string) (measures map[string]string, kind string) {
	_, text, err := d.cardFile(name)
	if err != nil {
		return nil, ""
	}
	return plainMeasures(text)
}

// numberOf is a measure without the words behind its comma, which say where it was taken.
func numberOf(measure string) string {
	number, _, _ := strings.Cut(measure, ",")
	return strings.TrimSpace(number)
}
