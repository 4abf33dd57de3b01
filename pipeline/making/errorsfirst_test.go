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
	page, _ := m.reportPage(w, 7)
	if !slices.Equal(page.Numbers, []int{1, 2, 3}) {
		t.Errorf("numbers %v", page.Numbers)
	}
	forms, err := m.report(w, 7)
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
