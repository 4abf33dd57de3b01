// Package checks takes a draft with its figures, pieces and findings, and says whether its promises are kept: girths,
// what goes over the head, seams, notches.
package checks

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
)

// Check is a promise of the draft, in one sentence: kept, differs or not known.
type Check struct {
	State string `json:"state"`
	Text  string `json:"text"`
	Line  int    `json:"line"` // of the draft, 0 for none
}

// The states of a check.
const (
	Kept     = "kept"
	Differs  = "differs"
	NotKnown = "not known"
)

// Entry is an entry of a section of the draft.
type Entry struct {
	Key, Text string
	Line      int
}

// Sections lists the entries of each section of a draft's document.
func Sections(doc *yaml.Node) map[string][]Entry {
	if len(doc.Content) == 0 {
		return nil
	}
	out := map[string][]Entry{}
	root := doc.Content[0].Content
	for i := 0; i+1 < len(root); i += 2 {
		name, list := root[i].Value, root[i+1]
		if list.Kind == yaml.SequenceNode {
			for _, n := range list.Content {
				out[name] = append(out[name], Entry{"", n.Value, n.Line})
			}
		}
		for k := 0; list.Kind == yaml.MappingNode && k+1 < len(list.Content); k += 2 {
			out[name] = append(out[name], Entry{list.Content[k].Value, list.Content[k+1].Value, list.Content[k].Line})
		}
	}
	return out
}

// Of are the checks of a draft: its girths with their ease, what goes over the head, its seams, its notches. said are its
// Sections; f and p are nil where the draft could not be drawn: then nothing is known.
func Of(said map[string][]Entry, f *figures.Figures, p *pattern.Pattern, findings []pattern.Finding) []Check {
	out := []Check{}
	ease, musts, seams := said["ease"], said["must"], said["sewn"]
	told := func(n int) (of []figures.Girth) { // of both sides of the wearer where they differ
		if f == nil || len(f.Girths) == 0 || 1+f.Girths[len(f.Girths)-1].Told != len(ease)+len(musts) {
			return nil
		}
		for _, g := range f.Girths {
			if g.Told == n {
				of = append(of, g)
			}
		}
		return of
	}
	for i, t := range ease {
		all := told(i)
		for _, g := range all {
			out = append(out, Check{stateOf(g.Kept), fmt.Sprintf("%s: %s round, ease %s; asked %s", g.Name, short(f, g.Finished), short(f, g.Ease), asked(f, g.Promise)), t.Line})
		}
		if len(all) == 0 {
			out = append(out, Check{NotKnown, "ease at the " + t.Key, t.Line})
		}
	}
	for i, t := range musts {
		words, all := figures.MustWords(t.Text), told(len(ease)+i)
		for _, g := range all {
			out = append(out, Check{stateOf(g.Kept), fmt.Sprintf("%s: %s and %s", words, short(f, g.Finished), short(f, g.Body)), t.Line})
		}
		if len(all) == 0 {
			out = append(out, Check{NotKnown, words, t.Line})
		}
	}
	worst := func(line int) bool {
		return slices.ContainsFunc(findings, func(fd pattern.Finding) bool {
			return fd.Line == line && fd.Rule != pattern.RuleCornerNotTrue && !strings.HasPrefix(fd.Rule, "notch-") && (fd.Severity == pattern.Error || fd.Severity == pattern.Warning)
		})
	}
	for i, t := range seams {
		lead := ""
		if capSeam(t.Text) {
			lead = "cap against armhole: "
		}
		var of []figures.SeamFigures // both sides of the wearer where they differ
		if f != nil && len(f.Seams) > 0 && 1+f.Seams[len(f.Seams)-1].Told == len(seams) {
			for _, s := range f.Seams {
				if s.Told == i {
					of = append(of, s)
				}
			}
		}
		off := slices.ContainsFunc(of, func(s figures.SeamFigures) bool { return s.Off != 0 })
		for _, s := range of {
			out = append(out, Check{stateOf(!worst(t.Line) || off && s.Off == 0), lead + seamWords(f, s), t.Line})
		}
		if len(of) == 0 {
			out = append(out, Check{NotKnown, lead + "seam " + t.Text, t.Line})
		}
	}
	if p != nil && len(seams) == 0 && len(p.Pieces) == 1 && len(p.Pieces[0].Notches) == 0 {
		return out // nothing to compare
	}
	return append(out, notchCheck(p, findings, seams, said["notches"]))
}

// Clear is the message where no faults were found; it says so where not everything was checked.
func Clear(all []Check) string {
	open, differ := 0, 0
	for _, c := range all {
		switch c.State {
		case NotKnown:
			open++
		case Differs:
			differ++
		}
	}
	var but []string
	if differ > 0 {
		but = append(but, fmt.Sprintf("%d of the checks below %s", differ, verb(differ, "differs", "differ")))
	}
	if open > 0 {
		but = append(but, fmt.Sprintf("%d of the checks below %s not known", open, verb(open, "is", "are")))
	}
	if len(but) == 0 {
		return "No faults found."
	}
	return "No faults found, but " + strings.Join(but, ", and ") + "."
}

func verb(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// short formats a length: to a millimetre, or to a fraction of an inch.
func short(f *figures.Figures, v float64) string {
	switch f.Unit {
	case "in":
		return f.Say(v)
	case "cm":
		return strconv.FormatFloat(v, 'f', 1, 64)
	}
	return strconv.FormatFloat(v, 'f', 0, 64)
}

// promised is an ease that is written as numbers only: "16", "at least 8", "0 to 3/4".
var promised = regexp.MustCompile(`^\s*(at least |at most )?([0-9][0-9./ ]*?)(?: to ([0-9][0-9./ ]*?))?\s*$`)

// asked is the ease that a draft asks for, in the unit of the figures beside it; an ease that is calculated stays as
// the draft has it.
func asked(f *figures.Figures, promise string) string {
	if f.Unit == f.Drafted {
		return promise
	}
	m := promised.FindStringSubmatch(promise)
	if m == nil {
		return promise + " in the draft's " + sentence.SpokenUnit(f.Drafted)
	}
	out := m[1]
	for i, v := range m[2:] {
		mm, err := pattern.ParseLengthIn(v, UnitMM[f.Drafted])
		if v == "" {
			continue
		} else if err != nil {
			return promise + " in the draft's " + sentence.SpokenUnit(f.Drafted)
		}
		out += []string{"", " to "}[i] + SayIn(mm, f.Unit)
	}
	return out
}

func stateOf(ok bool) string {
	if ok {
		return Kept
	}
	return Differs
}

func seamWords(f *figures.Figures, s figures.SeamFigures) string {
	words := fmt.Sprintf("%s: %s and %s", s.Seam, short(f, s.SewnA), short(f, s.SewnB))
	switch {
	case s.Gathers > 0:
		words += ", " + f.Between(s)
	case s.Ease > 0:
		words += ", " + s.Second + " meant to be " + f.Say(s.Ease) + " longer"
	case s.Ease < 0:
		words += ", " + s.Second + " meant to be " + f.Say(-s.Ease) + " shorter"
	case short(f, s.SewnA) != short(f, s.SewnB):
		words += ", " + short(f, math.Abs(s.SewnA-s.SewnB)) + " apart"
	}
	return words
}

func capSeam(said string) bool {
	return strings.Contains(said, "cap") && strings.Contains(said, "armhole")
}

// notchCheck says whether the notches meet along the seams; its line is that of the draft's first notch, else of its
// first seam.
func notchCheck(p *pattern.Pattern, findings []pattern.Finding, seams, notches []Entry) Check {
	line := 0
	for _, e := range slices.Concat(notches, seams) {
		if line = e.Line; line > 0 {
			break
		}
	}
	switch {
	case p == nil:
		return Check{NotKnown, "notches: not compared yet", line}
	case len(seams) == 0:
		return Check{NotKnown, "notches: no seam is named under sewn, so none is compared", line}
	}
	n := 0
	for i := range p.Pieces {
		n += len(p.Pieces[i].Notches)
	}
	for _, f := range findings {
		if strings.HasPrefix(f.Rule, "notch-") && (f.Severity == pattern.Error || f.Severity == pattern.Warning) {
			return Check{Differs, "notches: " + f.Message, f.Line}
		}
	}
	if n == 0 {
		return Check{NotKnown, "notches: there are none", line}
	}
	words := fmt.Sprintf("notches: %d, none without its partner", n)
	if by := uncompared(p); len(by) > 0 {
		words += "; not compared, so look yourself: " + strings.Join(by, "; ")
	}
	return Check{Kept, words, line}
}

// uncompared are the seams whose notches no check compares, though one of their edges has one: gathered ones, those with a strip
// that bears none, and those with an edge that is sewn in twice and has no fold.
func uncompared(p *pattern.Pattern) (words []string) {
	for _, s := range p.Seams {
		notched, twice := false, false
		for _, r := range slices.Concat(s.A, s.B) {
			for i := range p.Pieces {
				pc := &p.Pieces[i]
				edge := slices.IndexFunc(pc.Edges, func(e pattern.Edge) bool { return e.Name == r.Edge })
				if pc.Name != r.Piece || edge < 0 {
					continue
				}
				twice = twice || r.Times >= 2 && pc.FoldLine() == nil
				notched = notched || slices.ContainsFunc(pc.Notches, func(n pattern.Notch) bool { return n.Along != nil && n.Along.Edge == edge })
			}
		}
		if notched && (s.Gathered || s.Unnotched || twice) && !slices.Contains(words, s.Note) {
			words = append(words, s.Note)
		}
	}
	return words
}
