package report

import (
	"bytes"
	"strings"
	"testing"

	"tracewheel/pipeline/pattern"
)

// TestNamesAreShownNotObeyed: what a file, a style or a piece is called neither steers a terminal (the
// control characters of ECMA-48) nor begins a line of its own, and letters outside ASCII stay.
func TestNamesAreShownNotObeyed(t *testing.T) {
	name := "a\x1b[31m\x03\nerror: b\u009b2J [x](y)?!~ \u00c4rmel \u8896 <b>"
	p := Page{Workroom: "Wardrobe", Device: "roll-plotter", File: name + ".svg", Style: name, Refused: true,
		Findings: []pattern.Finding{{Rule: "outline-open", Severity: pattern.Error, Piece: name, Message: name, Mend: name}}}
	html, err := HTML(p)
	if err != nil {
		t.Fatal(err)
	}
	for form, page := range map[string][]byte{"text": Text(p), "html": html} {
		if bytes.ContainsAny(page, "\x1b\x03\u009b") || !bytes.Contains(page, []byte("[x](y)?!~ \u00c4rmel \u8896")) {
			t.Errorf("%s: %q", form, page)
		}
	}
	if strings.Contains(string(Text(p)), "\nerror: b") || bytes.Contains(html, []byte("<b>.svg")) {
		t.Error("a name began a line or an element")
	}
	if p.Findings[0].Piece != name {
		t.Error("the findings themselves were changed")
	}
}
