package checks

import (
	"slices"
	"strings"
	"testing"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/pattern"
)

// TestGatheredSeamInWords: a gathered seam is described as gathers, not as a difference to be corrected.
func TestGatheredSeamInWords(t *testing.T) {
	got := seamWords(&figures.Figures{Unit: "cm"}, figures.SeamFigures{Seam: "top = band", A: 120, B: 63, Ease: -57, Gathers: 2, Underlap: 3})
	if !strings.Contains(got, "gathered 2.00 to 1") || strings.Contains(got, "shorter") {
		t.Error(got)
	}
}

// TestDifferenceAsShown: a difference agrees with the lengths as shown, and a fault of a corner does not change the
// seam's check.
func TestDifferenceAsShown(t *testing.T) {
	for _, c := range []struct {
		unit string
		a, b float64
		want string
	}{{"cm", 15.4, 15.3, "15.4 and 15.3, 0.1 apart"}, {"cm", 12.8, 12.6, "12.8 and 12.6, 0.2 apart"}, {"in", 8, 7.875, "8 and 7 7/8, 1/8 apart"}, {"cm", 21, 21, "21.0 and 21.0"}} {
		if got := seamWords(&figures.Figures{Unit: c.unit}, figures.SeamFigures{Seam: "a = b", SewnA: c.a, SewnB: c.b}); got != "a = b: "+c.want {
			t.Errorf("%s, want %s", got, c.want)
		}
	}
	const text = "sewn:\n  - a = b\n"
	f := &figures.Figures{Unit: "cm", Seams: []figures.SeamFigures{{Seam: "a = b", A: 21, B: 21}}}
	for rule, want := range map[string]string{pattern.RuleCornerNotTrue: Kept, pattern.RuleSeamLengths: Differs} {
		if got := Of(said(t, text), f, nil, []pattern.Finding{{Rule: rule, Severity: pattern.Warning, Line: 2}}); got[0].State != want {
			t.Errorf("%s: the seam %s", rule, got[0].State)
		}
	}
}

// TestAskedInTheUnitOfTheChecks: what a draft asks for is shown in the unit of its result: 5 to 7 cm are 1.97 to 2.76
// inches, to a sixteenth 1 15/16 to 2 3/4; 1 inch is 2.54 cm.
func TestAskedInTheUnitOfTheChecks(t *testing.T) {
	for _, c := range []struct{ drafted, unit, promise, want string }{
		{"cm", "in", "5 to 7", "1 15/16 to 2 3/4"},
		{"in", "cm", "1", "2.54"},
		{"in", "cm", "at least 1 1/2", "at least 3.81"},
		{"cm", "cm", "5 to 7", "5 to 7"},
		{"cm", "in", "wear + 1", "wear + 1 in the draft's cm"},
	} {
		if got := asked(&figures.Figures{Unit: c.unit, Drafted: c.drafted}, c.promise); got != c.want {
			t.Errorf("%+v: %q", c, got)
		}
	}
}

// TestNotchesLeadToTheirLine: the check of the notches links to the draft's first notch, and to the first seam without
// one.
func TestNotchesLeadToTheirLine(t *testing.T) {
	p := &pattern.Pattern{Pieces: []pattern.Piece{{Notches: make([]pattern.Notch, 2)}}}
	for text, want := range map[string]Check{
		"sewn:\n  - a = b\nnotches:\n  a: one, at U\n": {Kept, "notches: 2, none without its partner", 4},
		"sewn:\n  - a = b\n":                           {Kept, "notches: 2, none without its partner", 2},
	} {
		if got := Of(said(t, text), nil, p, nil); len(got) == 0 || got[len(got)-1] != want {
			t.Errorf("%q: %+v", text, got)
		}
	}
}

// said are the sections of a text.
func said(t *testing.T, text string) map[string][]Entry {
	var doc yaml.Node
	if err := yaml.Unmarshal([]byte(text), &doc); err != nil {
		t.Fatal(err)
	}
	return Sections(&doc)
}

// TestUncomparedNotches: where no check compares a seam's notches, the list does not say that they meet.
func TestUncomparedNotches(t *testing.T) {
	p := &pattern.Pattern{
		Pieces: []pattern.Piece{
			{Name: "frill", Edges: []pattern.Edge{{Name: "hem"}, {Name: "top"}}, Notches: []pattern.Notch{{Along: &pattern.Along{Edge: 1}}}},
			{Name: "band", Edges: []pattern.Edge{{Name: "long edge"}}},
		},
		Seams: []pattern.Seam{{A: []pattern.EdgeRef{{Piece: "frill", Edge: "top", Times: 1}}, B: []pattern.EdgeRef{{Piece: "band", Edge: "long edge", Times: 1}}, Note: "frill top = band long edge"}},
	}
	const looked = "look yourself: frill top = band long edge"
	for _, c := range []struct {
		change func(s *pattern.Seam)
		told   bool
	}{
		{func(*pattern.Seam) {}, false},
		{func(s *pattern.Seam) { s.Gathered = true }, true},
		{func(s *pattern.Seam) { s.Unnotched = true }, true},
		{func(s *pattern.Seam) { s.A[0].Times = 2 }, true},
		{func(s *pattern.Seam) { s.Gathered, s.A[0].Edge = true, "hem" }, false},
	} {
		q := *p
		s := p.Seams[0]
		s.A = slices.Clone(s.A)
		c.change(&s)
		q.Seams = []pattern.Seam{s}
		if got := notchCheck(&q, nil, []Entry{{Text: "frill top = band long edge", Line: 3}}, nil); strings.Contains(got.Text, looked) != c.told {
			t.Errorf("%+v: %s", s, got.Text)
		}
	}
}
