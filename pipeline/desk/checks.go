package desk

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

// check is something that the draft promises, in one sentence: kept, differs or not known.
type check struct {
	State string `json:"state"`
	Text  string `json:"text"`
	Line  int    `json:"line"` // where the draft says it, 0 for nowhere
}

// The states of a check.
const (
	kept     = "kept"
	differs  = "differs"
	notKnown = "not known"
)

// sectionEntry is an entry of a section of the draft.
type sectionEntry struct {
	key, text string
	line      int
}

// sections lists the entries of each section, as far as the text can be read.
func sections(text string) map[string][]sectionEntry {
	var doc yaml.Node
	if yaml.Unmarshal([]byte(text), &doc) != nil || len(doc.Content) == 0 {
		return nil
	}
	out := map[string][]sectionEntry{}
	root := doc.Content[0].Content
	for i := 0; i+1 < len(root); i += 2 {
		name, list := root[i].Value, root[i+1]
		if list.Kind == yaml.SequenceNode {
			for _, n := range list.Content {
				out[name] = append(out[name], sectionEntry{"", n.Value, n.Line})
			}
		}
		for k := 0; list.Kind == yaml.MappingNode && k+1 < len(list.Content); k += 2 {
			out[name] = append(out[name], sectionEntry{list.Content[k].Value, list.Content[k+1].Value, list.Content[k].Line})
		}
	}
	return out
}

// checksOf are the checks of a draft: its girths with their ease, what goes over the head, its seams, its notches. f
// and p are nil where the draft could not be drawn; then nothing is known.
func checksOf(text string, f *figures.Figures, p *pattern.Pattern, findings []pattern.Finding) []check {
	out := []check{}
	said := sections(text)
	ease, musts, seams := said["ease"], said["must"], said["sewn"]
	girth := func(fits func(figures.Girth) bool) *figures.Girth {
		if f == nil {
			return nil
		}
		if i := slices.IndexFunc(f.Girths, fits); i >= 0 {
			return &f.Girths[i]
		}
		return nil
	}
	for _, t := range ease {
		if g := girth(func(g figures.Girth) bool { return g.Name == t.key }); g != nil {
			out = append(out, check{stateOf(g.Kept), fmt.Sprintf("%s: %s round, ease %s; asked %s", t.key, short(f, g.Finished), short(f, g.Ease), asked(f, g.Promise)), t.line})
		} else {
			out = append(out, check{notKnown, "ease at the " + t.key, t.line})
		}
	}
	for i, t := range musts {
		c := check{notKnown, figures.MustWords(t.text), t.line}
		if n := len(ease) + i; f != nil && n < len(f.Girths) && len(f.Girths) == len(ease)+len(musts) {
			g := f.Girths[n]
			c = check{stateOf(g.Kept), fmt.Sprintf("%s: %s and %s", c.Text, short(f, g.Finished), short(f, g.Body)), t.line}
		}
		out = append(out, c)
	}
	worst := func(line int) bool {
		return slices.ContainsFunc(findings, func(fd pattern.Finding) bool {
			return fd.Line == line && fd.Rule != pattern.RuleCornerNotTrue && !strings.HasPrefix(fd.Rule, "notch-") && (fd.Severity == pattern.Error || fd.Severity == pattern.Warning)
		})
	}
	for i, t := range seams {
		c := check{notKnown, "seam " + t.text, t.line}
		if f != nil && len(f.Seams) == len(seams) {
			s := f.Seams[i]
			c = check{stateOf(!worst(t.line)), seamWords(f, s), t.line}
		}
		if capSeam(t.text) {
			c.Text = "cap against armhole: " + c.Text
		}
		out = append(out, c)
	}
	if p != nil && len(seams) == 0 && len(p.Pieces) == 1 && len(p.Pieces[0].Notches) == 0 {
		return out // nothing to meet
	}
	return append(out, notchCheck(p, findings, len(seams) > 0))
}

// clearWords are said where no faults were found: that does not say that all was looked at.
func clearWords(checks []check) string {
	open, differ := 0, 0
	for _, c := range checks {
		switch c.State {
		case notKnown:
			open++
		case differs:
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

// short is a length as a sentence has it: to a millimetre, or to a fraction of an inch.
func short(f *figures.Figures, v float64) string {
	switch f.Unit {
	case "in":
		return f.Say(v)
	case "cm":
		return strconv.FormatFloat(v, 'f', 1, 64)
	}
	return strconv.FormatFloat(v, 'f', 0, 64)
}

// asShort is a length as short says it: what is worked out of two that are shown agrees with them.
func asShort(f *figures.Figures, v float64) float64 {
	switch f.Unit {
	case "in":
		return math.Round(v*16) / 16
	case "cm":
		return math.Round(v*10) / 10
	}
	return math.Round(v)
}

// promised is an ease that is told by figures alone: "16", "at least 8", "0 to 3/4".
var promised = regexp.MustCompile(`^\s*(at least |at most )?([0-9][0-9./ ]*?)(?: to ([0-9][0-9./ ]*?))?\s*$`)

// asked is the ease that a draft asks, in the unit of the figures beside which it stands; what is reckoned is told as the draft has it.
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
		mm, err := pattern.ParseLengthIn(v, unitMM[f.Drafted])
		if v == "" {
			continue
		} else if err != nil {
			return promise + " in the draft's " + sentence.SpokenUnit(f.Drafted)
		}
		out += []string{"", " to "}[i] + sayIn(mm, f.Unit)
	}
	return out
}

func stateOf(ok bool) string {
	if ok {
		return kept
	}
	return differs
}

func seamWords(f *figures.Figures, s figures.SeamFigures) string {
	words := fmt.Sprintf("%s: %s and %s", s.Seam, short(f, s.A), short(f, s.B))
	switch {
	case s.Gathers > 0:
		words += ", " + f.Between(s)
	case s.Ease > 0:
		words += ", " + s.Second + " meant to be " + f.Say(s.Ease) + " longer"
	case s.Ease < 0:
		words += ", " + s.Second + " meant to be " + f.Say(-s.Ease) + " shorter"
	case short(f, s.A) != short(f, s.B):
		words += ", " + short(f, math.Abs(asShort(f, s.A)-asShort(f, s.B))) + " apart"
	}
	return words
}

func capSeam(said string) bool {
	return strings.Contains(said, "cap") && strings.Contains(said, "armhole")
}

// notchCheck says whether the notches meet their partners along the seams.
func notchCheck(p *pattern.Pattern, findings []pattern.Finding, sewn bool) check {
	switch {
	case p == nil:
		return check{notKnown, "notches: not compared yet", 0}
	case !sewn:
		return check{notKnown, "notches: no seam is named under sewn, so none is compared", 0}
	}
	n := 0
	for i := range p.Pieces {
		n += len(p.Pieces[i].Notches)
	}
	for _, f := range findings {
		if strings.HasPrefix(f.Rule, "notch-") && (f.Severity == pattern.Error || f.Severity == pattern.Warning) {
			return check{differs, "notches: " + f.Message, f.Line}
		}
	}
	if n == 0 {
		return check{notKnown, "notches: there are none", 0}
	}
	return check{kept, fmt.Sprintf("notches: %d, none without its partner", n), 0}
}
