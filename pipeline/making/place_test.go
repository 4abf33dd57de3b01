package making

import (
	"strings"
	"testing"
)

// A place in an SVG draft is told as the file has it, y down from the page's upper edge, in messages and
// on the page; at_mm stays y up.
func TestPlacesInSVGAsTheFileHasThem(t *testing.T) {
	h := New(Sample())
	const draft = `<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 0 400 300">` +
		`<path class="cut" d="M50 20H250V120L50 30L150 120Z"/></svg>`
	w := h.Look(Request{Source: []byte(draft), Name: "loop.svg"})
	c := w.Checked()
	seen := false
	for i, f := range w.Findings {
		if f.Rule != "outline-crosses-itself" {
			continue
		}
		seen = true
		at := c.Findings[i].At
		if at == nil || at[1] < 150 {
			t.Errorf("at_mm %v is not counted upwards", at)
		}
		// y = 30 + 0.45 (x - 50) meets y = 20 + (x - 50) at x = 68.18, y = 38.18.
		if !strings.Contains(f.Message, "(68.2, 38.2)") {
			t.Errorf("%q does not tell the place as the file has it", f.Message)
		}
	}
	if !seen {
		t.Fatalf("%+v", w.Findings)
	}
	files, err := h.report(w, nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"report.txt", "report.html"} {
		if s := string(files[name]); !strings.Contains(s, "at 68.2, 38.2 mm from the page") {
			t.Errorf("%s does not tell the place as the file has it:\n%s", name, s)
		}
	}
}
