package cardtext

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"time"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/tape"
)

// Fitting is a change in a card: what a fitting altered, and why. Name is a measure or a number, or "" for a seam,
// whose whole line is By. Date may have words after a comma; For is the only garment that it is for, "" for all.
type Fitting struct{ Date, Name, By, Reason, For string }

// Slip is a fault of a field of a fitting: "date", "name" or "by". Offer is the correction, "" for none.
type Slip struct{ Field, Text, Offer string }

func (s *Slip) Error() string { return s.Text }

// Day is the date alone.
func (f Fitting) Day() string {
	day, _ := sentence.FittingDay(f.Date)
	return day
}

// Under is the value of a key in a mapping, nil where there is none.
func Under(m *yaml.Node, key string) *yaml.Node {
	if m == nil || m.Kind != yaml.MappingNode {
		return nil
	}
	for i := 0; i+1 < len(m.Content); i += 2 {
		if m.Content[i].Value == key {
			return m.Content[i+1]
		}
	}
	return nil
}

// put sets a key of a mapping to a text, at the end where it is new.
func put(m *yaml.Node, key, value string) *yaml.Node {
	v := Under(m, key)
	if v == nil {
		v = &yaml.Node{Kind: yaml.ScalarNode}
		m.Content = append(m.Content, &yaml.Node{Kind: yaml.ScalarNode, Value: key}, v)
	}
	v.Kind, v.Tag, v.Value, v.Content, v.Style = yaml.ScalarNode, "", value, nil, 0
	return v
}

// remove takes a key and its value out of a mapping.
func remove(m *yaml.Node, key string) {
	for i := 0; i+1 < len(m.Content); i += 2 {
		if m.Content[i].Value == key {
			m.Content = slices.Delete(m.Content, i, i+2)
			return
		}
	}
}

// mapping is the mapping under a key, made where there is none.
func mapping(m *yaml.Node, key string) *yaml.Node {
	v := Under(m, key)
	if v == nil {
		v = &yaml.Node{}
		m.Content = append(m.Content, &yaml.Node{Kind: yaml.ScalarNode, Value: key}, v)
	}
	if v.Kind != yaml.MappingNode {
		*v = yaml.Node{Kind: yaml.MappingNode}
	}
	return v
}

var errUnread = errors.New("the card cannot be read as it is: mend it in an editor first")

// editCard changes a card and keeps everything else in it: comments, notes, where a measure was taken.
func editCard(text []byte, edit func(card *yaml.Node) error) ([]byte, error) {
	var doc yaml.Node
	if err := yaml.Unmarshal(text, &doc); err != nil || len(doc.Content) == 0 || doc.Content[0].Kind != yaml.MappingNode {
		return nil, errUnread
	}
	for _, list := range []string{"measures", "changes"} { // mappings, or missing
		if n := Under(doc.Content[0], list); n != nil && n.Kind != yaml.MappingNode && n.Tag != "!!null" {
			return nil, errUnread
		}
	}
	if err := edit(doc.Content[0]); err != nil {
		return nil, err
	}
	return Written(&doc)
}

// Written is a document as text, indented by two.
func Written(doc *yaml.Node) ([]byte, error) {
	var b bytes.Buffer
	e := yaml.NewEncoder(&b)
	e.SetIndent(2)
	if err := e.Encode(doc); err != nil {
		return nil, fmt.Errorf("writing the file: %w", err)
	}
	return b.Bytes(), nil
}

// Write puts measures into an existing card. A measure keeps the words after its comma, which say where it was taken;
// one whose number does not change keeps its line. An empty one keeps its line too, but for one of one side, which goes.
func Write(text []byte, kind, unit string, typed map[string]string) ([]byte, error) {
	return editCard(text, func(card *yaml.Node) error {
		if own := Under(card, "unit"); own != nil && own.Value != unit {
			return fmt.Errorf("the card is in %s and these measures in %s: give them another card's name", sentence.SpokenUnit(own.Value), sentence.SpokenUnit(unit))
		}
		if kind != "" {
			put(card, "kind", kind)
		}
		list := mapping(card, "measures")
		for _, p := range slices.Backward(parted(list)) { // "9,5" between { and } is one value, replaced whole
			list.Content[p-1].Value += "," + list.Content[p].Value
			list.Content[p-1].Tag = "!!str"
			list.Content = slices.Delete(list.Content, p, p+2)
		}
		for _, name := range slices.SortedFunc(maps.Keys(typed), tape.Compare) {
			value := strings.TrimSpace(typed[name])
			if value == "" {
				if side, _ := sentence.SideOf(name); side != "" { // both sides are alike again
					remove(list, name)
				}
				continue
			}
			if old := Under(list, name); old != nil {
				number, where, told := Parts(old.Value)
				if number == value || old.Value == value {
					continue
				}
				if _, _, own := Parts(value); told && !own {
					value += "," + where
				}
			}
			put(list, name, value)
		}
		put(card, "taken", time.Now().Format(time.DateOnly))
		return nil
	})
}

// placed is a fitting with the function that removes it from its card.
type placed struct {
	Fitting
	drop func()
}

// fittingsIn lists the changes in a card, with their reasons, which are comments after them. A day's changes are a
// line, several lines, or measures and numbers by name.
func fittingsIn(card *yaml.Node) (out []placed) {
	days := Under(card, "changes")
	if days == nil || days.Kind != yaml.MappingNode {
		return nil
	}
	for i := 0; i+1 < len(days.Content); i += 2 {
		day, of := days.Content[i], days.Content[i+1]
		dropDay := func() { cutOut(days, day, 2) }
		within := func(n *yaml.Node, many int) func() {
			return func() {
				if cutOut(of, n, many); len(of.Content) == 0 {
					dropDay()
				}
			}
		}
		put := func(name string, n *yaml.Node, why string, drop func()) {
			why = cmp.Or(why, n.LineComment)
			_, only := sentence.FittingDay(day.Value)
			out = append(out, placed{Fitting{day.Value, name, OneLine(n.Value), strings.TrimSpace(strings.TrimPrefix(why, "#")), only}, drop})
		}
		switch of.Kind {
		case yaml.ScalarNode:
			put("", of, "", dropDay)
		case yaml.SequenceNode:
			for _, n := range of.Content {
				put("", n, "", within(n, 1))
			}
		case yaml.MappingNode:
			for k := 0; k+1 < len(of.Content); k += 2 {
				name, n := of.Content[k], of.Content[k+1]
				put(name.Value, n, cmp.Or(n.LineComment, name.LineComment), within(name, 2))
			}
		}
	}
	return out
}

// cutOut removes a node from another's content, with the nodes that belong to it: many in all.
func cutOut(from, n *yaml.Node, many int) {
	if i := slices.Index(from.Content, n); i >= 0 {
		from.Content = slices.Delete(from.Content, i, i+many)
	}
}

// Fittings lists the changes in a card.
func Fittings(text []byte) (out []Fitting) {
	var doc yaml.Node
	if yaml.Unmarshal(text, &doc) != nil || len(doc.Content) == 0 {
		return nil
	}
	for _, f := range fittingsIn(doc.Content[0]) {
		out = append(out, f.Fitting)
	}
	return out
}

// OneLine puts a text on one line.
func OneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// IsAmount reports whether a text is an amount of a fitting.
func IsAmount(by string) bool {
	number, more := strings.CutSuffix(by, "more")
	if !more {
		number, _ = strings.CutSuffix(by, "less")
	}
	return amount.MatchString(by) && isLength(number)
}

// isLength reports whether the whole text is one length.
func isLength(text string) bool {
	_, err := pattern.ParseLength(text)
	return err == nil
}

// amount is the amount of a fitting.
var amount = regexp.MustCompile(`^[0-9.][0-9./ ]*(?:mm|cm|in)? ?(?:more|less)$`)

// Add writes a change into a card. A fault of a field is a *Slip.
func Add(text []byte, f Fitting) ([]byte, error) {
	f = Fitting{OneLine(f.Date), OneLine(f.Name), OneLine(f.By), OneLine(f.Reason), OneLine(f.For)}
	if _, err := time.Parse(time.DateOnly, f.Date); err != nil {
		return nil, &Slip{"date", fmt.Sprintf("the day of the fitting is written as 2026-10-31, not %q", f.Date), ""}
	}
	if f.Name == "" {
		return nil, &Slip{"name", "a fitting names a measure or a number of the draft: write which", ""}
	}
	if !IsAmount(f.By) {
		return nil, &Slip{"by", fmt.Sprintf("%q is not how much: write 0.6, 3/16 or 6 mm, and choose more or less", f.By), ""}
	}
	return editCard(text, func(card *yaml.Node) error {
		for _, old := range fittingsIn(card) {
			if old.Day() == f.Date && old.Name == f.Name && (old.For == f.For || old.For == "" || f.For == "") {
				return &Slip{"name", fmt.Sprintf("the fitting of %s changes %s already, by %s: undo that first", f.Date, f.Name, old.By), ""}
			}
		}
		f.write(card)
		return nil
	})
}

// write puts the change of a measure or a number under its day.
func (f Fitting) write(card *yaml.Node) {
	days := mapping(card, "changes")
	days.Style = 0
	key := sentence.OnlyFor(f.Date, f.For)
	if there := Under(days, key); there != nil && there.Kind != yaml.MappingNode {
		key = sentence.OnlyFor(f.Date+", measures", f.For) // the day's own key holds lines of seams
	}
	day := mapping(days, key)
	day.Style = 0
	v := put(day, f.Name, f.By)
	if f.Reason != "" {
		v.LineComment = "# " + f.Reason
	}
}

// Only limits a change of a measure or a number for all garments to one garment.
func Only(text []byte, f Fitting, garment string) ([]byte, error) {
	return editCard(text, func(card *yaml.Node) error {
		for _, there := range fittingsIn(card) {
			if there.is(f) && there.Name != "" {
				there.drop()
				there.For = garment
				there.write(card)
				return nil
			}
		}
		return f.gone()
	})
}

// is reports whether two changes are the same line of a card.
func (f Fitting) is(o Fitting) bool {
	return f.Date == o.Date && f.Name == o.Name && (f.Name != "" || f.By == OneLine(o.By))
}

func (f Fitting) gone() error {
	return fmt.Errorf("the fitting of %s does not change %s any more", f.Date, cmp.Or(f.Name, f.By))
}

var seamAmount = regexp.MustCompile(`^[0-9.][0-9./ ]*(?:mm|cm|in)?$`)

// AddLine writes a line about a seam of a garment into a card, after those of its day. A fault of a field is a *Slip;
// by is the amount in the line.
func AddLine(text []byte, date, garment, by, line, reason string) ([]byte, error) {
	if _, err := time.Parse(time.DateOnly, date); err != nil {
		return nil, &Slip{"date", fmt.Sprintf("the day of the fitting is written as 2026-10-31, not %q", date), ""}
	}
	if !seamAmount.MatchString(by) || !isLength(by) {
		return nil, &Slip{"by", fmt.Sprintf("%q is not how much: write 0.6, 3/16 or 6 mm", by), ""}
	}
	return editCard(text, func(card *yaml.Node) error {
		for _, old := range fittingsIn(card) {
			if old.Day() == date && old.By == line {
				return &Slip{"by", "the card has this line already: undo it, or write another", ""}
			}
		}
		days := mapping(card, "changes")
		days.Style = 0
		key := sentence.OnlyFor(date, garment)
		if there := Under(days, key); there != nil && there.Kind == yaml.MappingNode {
			key = sentence.OnlyFor(date+", seams", garment) // the day's own key holds measures and numbers
		}
		n := &yaml.Node{Kind: yaml.ScalarNode, Value: line}
		if reason = OneLine(reason); reason != "" {
			n.LineComment = "# " + reason
		}
		day := Under(days, key)
		switch {
		case day == nil:
			days.Content = append(days.Content, &yaml.Node{Kind: yaml.ScalarNode, Value: key}, &yaml.Node{Kind: yaml.SequenceNode, Content: []*yaml.Node{n}})
		case day.Kind == yaml.SequenceNode:
			day.Style = 0
			day.Content = append(day.Content, n)
		default:
			was := *day
			*day = yaml.Node{Kind: yaml.SequenceNode, Content: []*yaml.Node{&was, n}}
		}
		return nil
	})
}

// Undo removes one change from a card; a day without changes is removed too.
func Undo(text []byte, f Fitting) ([]byte, error) {
	return editCard(text, func(card *yaml.Node) error {
		for _, there := range fittingsIn(card) {
			if there.is(f) {
				there.drop()
				return nil
			}
		}
		return f.gone()
	})
}

// Changes is the section of fittings of a card, in its unit; "" where there is none.
func Changes(text []byte) string {
	var doc yaml.Node
	if yaml.Unmarshal(text, &doc) != nil || len(doc.Content) == 0 {
		return ""
	}
	changes := Under(doc.Content[0], "changes")
	if changes == nil || changes.Kind != yaml.MappingNode || len(changes.Content) == 0 {
		return ""
	}
	out, err := yaml.Marshal(map[string]*yaml.Node{"changes": changes})
	if err != nil {
		return ""
	}
	return string(out)
}
