package board

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v4"

	"tracewheel/config"
	"tracewheel/pipeline/namedfiles"
)

// ticketField is what a ticket may say, with a field of its own in the form; further lines say the rest.
type ticketField struct {
	// Key is the ticket's, Name the field's.
	Key, Label, Type, Hint string
	// Choices are those of a list; with Open another word may be written.
	Choices []string
	Open    bool
	// Value is what was written in it.
	Value string
}

func (f ticketField) Name() string { return "say-" + f.Key }

// ticketFields are those of the drop page, for a workroom.
func ticketFields(room *config.Workroom) []ticketField {
	return []ticketField{
		{Key: "copies", Label: "Copies", Type: "number"},
		{Key: "sizes", Label: "Sizes", Hint: "several parted by commas; empty for all of the draft"},
		{Key: "material", Label: "Material", Choices: slices.Sorted(maps.Keys(room.Materials)), Hint: "empty for the device's own"},
		{Key: "body", Label: "Body, or measure card", Choices: namedfiles.Names(room.Path("cards")), Open: true},
		{Key: "allowance", Label: "Seam allowance", Hint: "included where the cut lines have it, or a width such as 10mm"},
		{Key: "production", Label: "Production"},
		{Key: "wearer", Label: "Wearer"},
		{Key: "due", Label: "Fitting", Type: "date"},
		{Key: "note", Label: "Note"},
	}
}

// ticketOf writes the ticket that a form says: its fields a line each, then the further lines as they stand; empty where
// nothing is said.
func ticketOf(fields []ticketField, form url.Values) ([]byte, error) {
	var out []byte
	lines := strings.TrimSpace(strings.ReplaceAll(form.Get("ticket"), "\r\n", "\n"))
	below := keysOf(lines)
	for _, f := range fields {
		said := strings.TrimSpace(form.Get(f.Name()))
		if said == "" {
			continue
		}
		if slices.Contains(below, f.Key) {
			return nil, atField{fmt.Errorf("%q is said in its field and again as %s in the further lines. Nothing was kept: leave one of them empty", f.Label, f.Key), f.Name()}
		}
		var value any = said
		switch f.Key {
		case "copies":
			n, err := strconv.Atoi(said)
			if err != nil || n < 1 {
				return nil, atField{fmt.Errorf("%q is no number of copies. Nothing was kept: write a whole number such as 2", said), f.Name()}
			}
			value = n
		case "sizes":
			value = strings.FieldsFunc(said, func(r rune) bool { return r == ',' || r == ' ' })
		}
		text, err := json.Marshal(value) // which YAML reads as it stands
		if err != nil {
			return nil, err
		}
		out = fmt.Appendf(out, "%s: %s\n", f.Key, text)
	}
	if lines == "" {
		return out, nil
	}
	if len(out) > 0 && strings.HasPrefix(lines, "{") {
		return nil, atField{errors.New("the further lines stand in brackets, and fields are filled in as well. Nothing was kept: write each thing in a line of its own, such as toile: true"), "ticket"}
	}
	return append(out, lines+"\n"...), nil
}

// keysOf are the first words of a ticket's lines; none where it cannot be read, which its job then tells.
func keysOf(ticket string) (keys []string) {
	root, err := config.Tree([]byte(ticket))
	if err != nil || root.Kind != yaml.MappingNode {
		return nil
	}
	for i := 0; i < len(root.Content); i += 2 {
		keys = append(keys, root.Content[i].Value)
	}
	return keys
}
