package pattern

import (
	"slices"
	"strings"
)

// Grouped is a finding as people read it: once, with all the pieces of which it is true.
type Grouped struct {
	Finding
	Pieces []string // "" is the draft as a whole
	Rules  []string
	Of     []int // which findings of the list these are
}

// Group gathers findings that say the same of several pieces, in the order of the first. That pieces have
// no name and no number to cut is one sentence.
func Group(fs []Finding) []Grouped {
	type key struct {
		rule, message, mend string
		severity            Severity
		line, column        int
	}
	var out []Grouped
	at := map[key]int{}
	for n, f := range fs {
		k := key{f.Rule, f.Message, f.Mend, f.Severity, f.Line, f.Column}
		if i, known := at[k]; known {
			out[i].Of = append(out[i].Of, n)
			if !slices.Contains(out[i].Pieces, f.Piece) {
				out[i].Pieces = append(out[i].Pieces, f.Piece)
			}
			continue
		}
		at[k] = len(out)
		out = append(out, Grouped{f, []string{f.Piece}, []string{f.Rule}, []int{n}})
	}
	find := func(rule string) int {
		return slices.IndexFunc(out, func(t Grouped) bool { return t.Rule == rule && t.Line == 0 })
	}
	label, quantity := find(RuleLabelMissing), find(RuleQuantityMissing)
	if label < 0 || quantity < 0 || out[label].Severity != out[quantity].Severity || !slices.Equal(out[label].Pieces, out[quantity].Pieces) {
		return out
	}
	first, second := min(label, quantity), max(label, quantity)
	a, b := &out[first], out[second]
	a.Message, a.Mend, a.Rules = a.Message+"; "+b.Message, a.Mend+"; "+b.Mend, append(a.Rules, b.Rules...)
	a.Of = append(a.Of, b.Of...)
	return slices.Delete(out, second, second+1)
}

// mostNamed is how many pieces are told by name.
const mostNamed = 8

// Where names the pieces.
func (t Grouped) Where() string {
	names := slices.DeleteFunc(slices.Clone(t.Pieces), func(s string) bool { return s == "" })
	if more := len(names) - mostNamed; more > 1 {
		names = append(names[:mostNamed], "and others")
	}
	return strings.Join(names, ", ")
}
