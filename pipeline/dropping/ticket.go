package dropping

import (
	"bytes"
	_ "embed" // the template
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"maps"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v4"

	"tracewheel/config"
	"tracewheel/pipeline/namedfiles"
	"tracewheel/pipeline/pattern"
)

// Field is what a ticket may say, with a field of its own in a form; further lines say the rest.
type Field struct {
	// Key is the word of the ticket that the field says; Label, Type and Hint are those of the form.
	Key, Label, Type, Hint string
	// Choices are those of a list; with Open another word may be written.
	Choices []string
	Open    bool
	// Value is what stands in the field.
	Value string
}

// Name is what the field is called in the form.
func (f Field) Name() string { return "say-" + f.Key }

// further is what the lines that have no field of their own are called in the form.
const further = "ticket"

// Ticket is the part of a form that says a ticket; the template "ticket" of its own shows it.
type Ticket struct {
	Fields  []Field
	Further string
	// At is the field at which Fault stands, also one of the form round it; "" where none of them has one.
	At, Fault string
	// Unfolded shows it unfolded.
	Unfolded bool
}

// AtField is a fault of what one field of a form says.
type AtField struct {
	error
	Field string
}

// NewAtField is the fault of a field.
func NewAtField(err error, field string) AtField { return AtField{err, field} }

// Unwrap gives the fault itself.
func (e AtField) Unwrap() error { return e.error }

// Slip is what is wrong in one field, "" for nothing; the templates "slip" and "slipped" show it.
type Slip struct{ Field, Fault string }

// Slip is that of a field.
func (t Ticket) Slip(field string) Slip {
	if t.At != field {
		return Slip{Field: field}
	}
	return Slip{field, t.Fault}
}

// Label is what the field is called at which the fault stands, "" where it is none of the ticket's.
func (t Ticket) Label() string {
	if i := slices.IndexFunc(t.Fields, func(f Field) bool { return f.Name() == t.At }); i >= 0 {
		return t.Fields[i].Label
	}
	return map[string]string{further: "Further lines"}[t.At]
}

// TicketForm is that of a workroom.
func TicketForm(room *config.Workroom) Ticket {
	return Ticket{Fields: []Field{
		{Key: "copies", Label: "Copies", Type: "number"},
		{Key: "sizes", Label: "Sizes", Hint: "several parted by commas; empty for all of the draft"},
		{Key: "material", Label: "Material", Choices: slices.Sorted(maps.Keys(room.Materials)), Hint: "empty for the device's own"},
		{Key: "body", Label: "Body, or measure card", Choices: namedfiles.Names(room.Path("cards")), Open: true},
		{Key: "allowance", Label: "Seam allowance", Hint: "included where the cut lines have it, or a width such as 10mm"},
		{Key: "production", Label: "Production"},
		{Key: "wearer", Label: "Wearer"},
		{Key: "due", Label: "Fitting", Type: "date"},
		{Key: "note", Label: "Note"},
	}}
}

// Filled is the form with what was written into it.
func (t Ticket) Filled(form url.Values) Ticket {
	t.Fields = slices.Clone(t.Fields)
	for i, f := range t.Fields {
		t.Fields[i].Value = form.Get(f.Name())
		t.Unfolded = t.Unfolded || t.Fields[i].Value != ""
	}
	t.Further = form.Get(further)
	t.Unfolded = t.Unfolded || t.Further != ""
	return t
}

// Marked is the form with a fault at the field that it is of, in words.
func (t Ticket) Marked(err error, words string) Ticket {
	if at := (AtField{}); errors.As(err, &at) {
		t.At, t.Fault = at.Field, words
	}
	return t
}

//go:embed ticket.html
var ticketPage string

// WithTicket adds the template "ticket", which shows a Ticket, to those of a page.
func WithTicket(pages *template.Template) (*template.Template, error) { return pages.Parse(ticketPage) }

// Written is the ticket that a form says: its fields a line each, then the further lines as they stand; empty where
// nothing is said.
func (t Ticket) Written(form url.Values) ([]byte, error) {
	var out []byte
	lines := strings.TrimSpace(strings.ReplaceAll(form.Get(further), "\r\n", "\n"))
	below := keysOf(lines)
	for _, f := range t.Fields {
		said := strings.TrimSpace(form.Get(f.Name()))
		if said == "" {
			continue
		}
		if slices.Contains(below, f.Key) {
			return nil, AtField{fmt.Errorf("%q is said in its field and again as %s in the further lines. Nothing was kept: leave one of them empty", f.Label, f.Key), f.Name()}
		}
		var value any = said
		switch f.Key {
		case "copies":
			n, err := strconv.Atoi(said)
			if err != nil || n < 1 {
				return nil, AtField{fmt.Errorf("%q is no number of copies. Nothing was kept: write a whole number such as 2", said), f.Name()}
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
	filled := bytes.Count(out, []byte("\n"))
	if lines == "" {
		return out, t.judged(out, filled)
	}
	if len(out) > 0 && strings.HasPrefix(lines, "{") {
		return nil, AtField{errors.New("the further lines stand in brackets, and fields are filled in as well. Nothing was kept: write each thing in a line of its own, such as toile: true"), further}
	}
	out = append(out, lines+"\n"...)
	return out, t.judged(out, filled)
}

// judged reads a ticket as its job will, before anything is written: of its first lines each is that of a field, in the
// order of the fields, and those after them are the further lines.
func (t Ticket) judged(ticket []byte, filled int) error {
	_, err := pattern.ReadTicket(ticket)
	var all *config.Faults
	if err == nil || !errors.As(err, &all) || len(all.List) == 0 {
		return err
	}
	first := all.List[0]
	if first.Line > 0 && first.Line <= filled {
		key, _, _ := strings.Cut(strings.Split(string(ticket), "\n")[first.Line-1], ":")
		if i := slices.IndexFunc(t.Fields, func(f Field) bool { return f.Key == key }); i >= 0 {
			return AtField{fmt.Errorf("%s. Nothing was kept", first.Text), t.Fields[i].Name()}
		}
	}
	where, last := "", bytes.Count(ticket, []byte("\n"))
	switch {
	case first.Line > last: // something is not closed
		where = fmt.Sprintf("at the end of line %d: ", last-filled)
	case first.Line > filled:
		where = fmt.Sprintf("line %d, column %d: ", first.Line-filled, first.Column)
	}
	if first.Key != "" {
		where += first.Key + ": "
	}
	return AtField{fmt.Errorf("%s%s. Nothing was kept: mend the further lines", where, first.Text), further}
}

// keysOf are the first words of a ticket's lines; none where it cannot be read, which judged then tells.
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
