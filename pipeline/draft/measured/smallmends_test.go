package measured

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/pattern"
)

const stripInches = "style: S\nunit: in\npieces:\n  placket: strip 3 wide, 9 long; cut 2\nallow: 1/2\nmarks:\n  placket:\n    - %q\n"

// A row of buttonholes on a strip is told in any order of its words. Four from 1 to 8 of 9 in lie 7/3 in apart, each 5/8 in across the width.
func TestButtonholesOnAStripInAnyOrder(t *testing.T) {
	for _, said := range []string{
		"buttonholes: 4, from 1 from end to 1 from far end, the rest evenly, plumb, 5/8 long",
		"buttonholes: 4, 5/8 long, from 1 from end to 1 from far end, the rest evenly, plumb",
		"buttonholes: 4, plumb, 5/8 long, from 1 from end to 1 from far end",
	} {
		holes := marksNamed(drawText(t, fmt.Sprintf(stripInches, said)).Pieces[0].Marks, "buttonhole")
		if len(holes) != 4 {
			t.Fatalf("%s: %d buttonholes", said, len(holes))
		}
		for i := range 3 {
			if by := math.Abs(holes[i+1].From[0] - holes[i].From[0]); math.Abs(by-7.0/3) > 1e-6 {
				t.Errorf("%s: %v in apart", said, by)
			}
		}
	}
	if got := said(t, fmt.Sprintf(stripInches, "buttonholes: 4, from 1 from end to 1 from far end"), ""); !strings.Contains(got, "say 5/8 long") {
		t.Errorf("a draft in inches is answered with %s", got)
	}
	if got := said(t, fmt.Sprintf(stripInches, "buttonhole at 1 from end, 5/8 long"), ""); !strings.Contains(got, "buttonhole 1 from end to 1 5/8 from end") {
		t.Error(got)
	}
}

// One tie, snap or hook is marked as one button is, and chalked at one place: 12 from the end and in the middle of the width.
func TestOneClosureIsOnePlace(t *testing.T) {
	for _, name := range []string{"tie", "snap", "hook", "button", "loop"} {
		f := figures.Of(drawText(t, "style: S\nunit: cm\npieces:\n  band: strip 6 wide, 60 long; cut 1\nallow: 1\nmarks:\n  band: "+name+" at 12 from end\n"))
		var got []string
		for _, m := range f.Pieces[0].Marking.Inside {
			got = append(got, m.Edge+" "+m.Across+" "+m.Down)
		}
		if s := strings.Join(got, "; "); s != name+" 48 3" {
			t.Errorf("told is %q", s)
		}
	}
}

// A bare number of buttons is asked about, for it is a length; what is bought by its length is not.
func TestCountOfNotionsIsAsked(t *testing.T) {
	for told, want := range map[string]bool{"buttons: 5": true, "buttons 15 mm: 8": true, "zips: 1": true, "zip: 20": false, "buttons: 5 pieces": false, "bias binding: 300": false, "buttons: 5 of 2": false} {
		e := drawText(t, strings.Replace(fmt.Sprintf(buttoned, "", "neck", "", "slit F to L"), "allow: 1", "allow: 1\nnotions: {"+told+"}", 1))
		asked := false
		for _, f := range e.Findings {
			asked = asked || f.Rule == pattern.RuleReadAssumed && strings.Contains(f.Message, "is told as a length of") && strings.HasSuffix(strings.Fields(f.Mend)[2], "pieces")
		}
		if asked != want {
			t.Errorf("%s: asked %v", told, asked)
		}
	}
}

// What is amiss with a notch is told with the point and with a sentence that the draft may hold.
func TestNotchMessages(t *testing.T) {
	for told, want := range map[string]string{
		"2, 9 from U":          "write out how many: two, 9 from U",
		"one, at X":            "X does not lie on the edge \"side\"",
		"two, at W, 0.8 apart": "have no room before the end of the edge",
		"two, at U, 0.8 apart": "",
	} {
		text := strings.Replace(fmt.Sprintf(buttoned, "", "neck", "", "slit F to L"), "allow: 1", "allow: 1\nnotches: {front side: \""+told+"\"}", 1)
		if _, err := draw([]byte(text), "x.yaml", Options{}); want == "" && err != nil || want != "" && (err == nil || !strings.Contains(err.Error(), want)) {
			t.Errorf("%s is answered with %v", told, err)
		}
	}
}

// The reference names every measure of which a usual range is known, so that a person knows which names are checked.
func TestReferenceNamesTheMeasures(t *testing.T) {
	reference, err := os.ReadFile("REFERENCE.md")
	if err != nil {
		t.Fatal(err)
	}
	_, row, _ := strings.Cut(string(reference), "what is usual is known of ")
	row, _, _ = strings.Cut(row, ";")
	named := strings.Split(strings.ReplaceAll(row, " and ", ", "), ", ")
	for _, name := range named {
		text := "style: S\nunit: cm\nkind: woman\nbodies: {A: {" + name + ": 300}}\nbody: A\npieces:\n  p: strip 6 wide, 60 long; cut 1\nallow: 1\n"
		if name == "apex depth" || name == "shoulder" {
			text = strings.Replace(text, "300", "90", 1)
		}
		if got := said(t, text, ""); !strings.Contains(got, name+" ") || !strings.Contains(got, "outside what is usual") {
			t.Errorf("%q: %s", name, got)
		}
	}
	if len(named) != 16 {
		t.Errorf("%d names are listed", len(named))
	}
}
