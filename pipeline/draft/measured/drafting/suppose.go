package drafting

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/tape"
)

// Bodiless tells of a draft that was read and found no measures at all.
func (e *Draft) Bodiless() bool { return len(e.Measures) == 0 && e.Sections != nil }

// Suppose has a draft without a body read as if all usual measures were given, so that it is known for which of them it asks.
// Such a draft is not worked out.
func (e *Draft) Suppose() { e.supposed = map[string]*tree.Definition{} }

// supposeMeasures makes them known.
func (e *Draft) supposeMeasures() {
	if e.supposed == nil || len(e.Measures) > 0 {
		return
	}
	for _, name := range slices.Concat(tape.Names(), tape.Counted(), slices.Sorted(maps.Keys(isoNames))) {
		en := sentence.Entry{Key: name, KeyNode: &yaml.Node{}}
		e.Top.Measure(en, 1)
		e.supposed[name] = e.Top.Definitions[name]
	}
}

// NeedsMeasures says which measures a draft asks for that has none; no text where it asks for none.
func (e *Draft) NeedsMeasures() (f sentence.Fault, asks bool) {
	var asked []string
	for name, d := range e.supposed {
		if d.Used && e.Top.Definitions[name] == d {
			asked = append(asked, name)
		}
	}
	if len(asked) == 0 {
		return f, false
	}
	slices.SortFunc(asked, tape.Compare)
	return sentence.Fault{File: e.Document.Name, Line: 1, Column: 1,
		Text: fmt.Sprintf("the draft needs measures, and it has none: %s", strings.Join(asked, ", ")),
		Mend: "put a measure card that has them beside the draft, or into the workroom's folder cards, and name it: a line card: NAME in the draft, body: NAME in its ticket, or --body NAME"}, true
}
