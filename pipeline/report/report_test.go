package report

import (
	"bytes"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/picture"
)

func samplePage() Page {
	at := func(rule, piece, text string, place *orb.Point, index int) pattern.Finding {
		f := pattern.NewFinding(rule, text, "redraw it")
		f.Piece, f.Index, f.At = piece, index, place
		return f
	}
	fs := []pattern.Finding{
		at(pattern.RuleAllowanceNarrow, "FRONT <b>", "the allowance shrinks", &orb.Point{254, 25.4}, 0),
		at(pattern.RuleLeftOut, "", "a frame was left out", nil, -1),
		at(pattern.RuleNotchNearCorner, "BACK", "a notch lies near a corner", &orb.Point{1, 2}, 1),
	}
	fs[0].Line = 12
	return Page{Workroom: "wardrobe", Device: "knife-table", File: "top.svg", Refused: true, Findings: fs,
		Numbers: picture.Numbered(fs)}
}

// TestNumbersAgree: a finding with a place bears the number of its circle in both forms, one without
// none.
func TestNumbersAgree(t *testing.T) {
	p := samplePage()
	html, err := HTML(p)
	if err != nil {
		t.Fatal(err)
	}
	text := string(Text(p))
	for _, want := range []string{"(1) error: FRONT <b>, line 12", "(2) warning: BACK", "\nnote\n    a frame", "at 254, 25.4 mm"} {
		if !strings.Contains(text, want) {
			t.Errorf("the text lacks %q:\n%s", want, text)
		}
	}
	for _, want := range []string{`<div class="number">1</div>`, `<div class="number">2</div>`, "FRONT &lt;b&gt;", "at 254, 25.4 mm", "1 error has to be mended"} {
		if !bytes.Contains(html, []byte(want)) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if n := bytes.Count(html, []byte(`class="number"`)); n != 2 {
		t.Errorf("%d numbers on the page", n)
	}
}

func TestInches(t *testing.T) {
	p := samplePage()
	p.Places.Unit = "in"
	html, err := HTML(p)
	if err != nil {
		t.Fatal(err)
	}
	for _, form := range [][]byte{html, Text(p)} {
		if !bytes.Contains(form, []byte("at 10.00, 1.00 in of the draft")) || bytes.Contains(form, []byte(" mm in the draft")) {
			t.Errorf("not in inches:\n%s", form)
		}
	}
}

// The same finding on many pieces stands once on the page, with its pieces and the numbers of their circles,
// and counts as one error.
func TestManyPiecesOnce(t *testing.T) {
	var fs []pattern.Finding
	for i, name := range []string{"FRONT", "BACK", "SLEEVE"} {
		f := pattern.NewFinding(pattern.RuleOutlineOpen, "the outline does not close", "bring the two ends together")
		f.Piece, f.Index, f.At = name, i, &orb.Point{1, 2}
		fs = append(fs, f)
	}
	p := Page{File: "top.svg", Refused: true, Findings: fs, Numbers: picture.Numbered(fs)}
	html, err := HTML(p)
	if err != nil {
		t.Fatal(err)
	}
	for form, want := range map[string][]string{
		string(html):    {"FRONT, BACK, SLEEVE", "1 error has to be mended", `<div class="number">1</div><div class="number">2</div><div class="number">3</div>`},
		string(Text(p)): {"(1) (2) (3) error: FRONT, BACK, SLEEVE\n", "1 error has to be mended"},
	} {
		for _, w := range want {
			if !strings.Contains(form, w) {
				t.Errorf("lacks %q:\n%s", w, form)
			}
		}
		if n := strings.Count(form, "does not close"); n != 1 {
			t.Errorf("it is told %d times", n)
		}
	}
}
