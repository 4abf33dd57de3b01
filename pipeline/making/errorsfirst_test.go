package making

import (
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/pattern"
)

// TestErrorsFirst: in all forms of a report what has to be mended stands before the notes, and the numbers of the
// picture follow the page.
func TestErrorsFirst(t *testing.T) {
	note, doubt, fault := pattern.NewFinding(pattern.RuleLeftOut, "a frame was left out", ""),
		pattern.NewFinding(pattern.RuleNotchNearCorner, "a notch lies near a corner", ""),
		pattern.NewFinding(pattern.RuleAllowanceNarrow, "the allowance shrinks", "")
	for _, f := range []*pattern.Finding{&note, &doubt, &fault} {
		f.At, f.Index = &orb.Point{10, 10}, 0
	}
	m := New(Sample())
	w, err := m.Make(t.Context(), Request{Name: "own.svg", Device: "roll-plotter", Source: []byte(square200), Ticket: []byte("allowance: included"), Answers: map[string]string{}})
	if err != nil || w.Pattern == nil {
		t.Fatal(err)
	}
	w.Refused, w.Findings = true, []pattern.Finding{note, doubt, fault}
	page, _ := m.reportPage(&w.Looked, w.copies(), 7)
	if !slices.Equal(page.Numbers, []int{1, 2, 3}) {
		t.Errorf("numbers %v", page.Numbers)
	}
	forms, err := m.report(&w.Looked, w.copies(), 7)
	if err != nil {
		t.Fatal(err)
	}
	for _, form := range []string{string(forms["report.html"]), string(forms["report.txt"])} { // the PDF holds the text
		form = form[strings.Index(form, "has to be mended first"):]
		e, d, n := strings.Index(form, "allowance shrinks"), strings.Index(form, "near a corner"), strings.LastIndex(form, "left out")
		if e < 0 || e > d || d > n {
			t.Errorf("error at %d, warning at %d, note at %d:\n%s", e, d, n, form)
		}
	}
}

// TestRefusedSentenceIsShown: the report of a measured draft shows the sentence beside its line, whether it cannot be read or
// says what cannot be drawn, and names the rule as it is.
func TestRefusedSentenceIsShown(t *testing.T) {
	const draft = "style: S\nunit: cm\ndraft p:\n  A: start\n  B: from A out 20\n  C: from B down 30\n  D: from A down 30\n  top: line A to B\n  side: line B to C\n  hem: line C to D\n  left: line D to A\n  outline: top, side, hem, left\n" +
		"pieces:\n  p: p; cut 1\nallow: 1\nmarks:\n  p:\n    - MARK\n"
	m := New(Sample())
	for mark, rule := range map[string]string{"slitt A to C": pattern.RuleUnreadable, "line A to A": pattern.RuleImpossible} {
		w, err := m.Make(t.Context(), Request{Name: "own.yaml", Device: "roll-plotter", Source: []byte(strings.Replace(draft, "MARK", mark, 1))})
		if err != nil || !w.Refused {
			t.Fatal(mark, err)
		}
		forms, err := m.report(&w.Looked, w.copies(), 7)
		if err != nil {
			t.Fatal(err)
		}
		for _, form := range []string{"report.html", "report.txt"} {
			if text := string(forms[form]); !strings.Contains(text, "line 18, column 7 (- "+mark+")") || !strings.Contains(text, rule) {
				t.Errorf("%s: %s is\n%s", mark, form, text)
			}
		}
	}
}
