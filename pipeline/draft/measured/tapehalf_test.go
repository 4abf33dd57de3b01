package measured

import (
	"regexp"
	"strings"
	"testing"

	"tracewheel/pipeline/draft/measured/figures"
)

// A plumb fold stands as far across at its top as at its bottom. Six box pleats that make 74 of 100 put their first inner fold
// at 4.75, worked out by hand, half-way between two millimetres of the tape: both its ends are told alike.
func TestPlumbFoldIsToldAtOnePlace(t *testing.T) {
	e := drawText(t, `style: S
unit: cm
draft p:
  A: start
  B: from A out 100
  C: from B down 40
  D: from A down 40
  top: line A to B
  side: line B to C
  hem: line C to D
  left: line D to A
  pleats: 6 box pleats, 5 wide, evenly from A to B, to 74 finished
  outline: top, side, hem, left
pieces:
  p: p; cut 1
allow: 1
`)
	across := map[string]int{}
	marks := figures.Of(e).Pieces[0].Marking.Inside
	for _, m := range marks {
		across[m.Across]++
	}
	if len(marks) < 24 || across["4.8"] != 2 {
		t.Errorf("%d marks, at %v across", len(marks), across)
	}
	for at, n := range across {
		if n != 2 {
			t.Errorf("%d ends of folds are told at %s across, want both of one", n, at)
		}
	}
}

// An edge is told no finer than a person reads a tape: a quarter circle of
// radius 10 cm is 15.70796 long, told 15.71 in cm and 157.1 in mm.
func TestEdgesAreToldAsATapeIsRead(t *testing.T) {
	const text = "style: S\nunit: UNIT\ndraft p:\n  A: start\n  B: from A out LONG\n  C: from A down LONG\n  top: line A to B\n  bow: arc B to C round A\n  left: line C to A\n  outline: top, bow, left\npieces:\n  p: p; cut 1\nallow: WIDE\n"
	for unit, c := range map[string][3]string{"cm": {"10", "1", "15.71"}, "mm": {"100", "10", "157.1"}} {
		f := figures.Of(drawText(t, strings.NewReplacer("UNIT", unit, "LONG", c[0], "WIDE", c[1]).Replace(text)))
		var out strings.Builder
		if err := f.Text(&out); err != nil {
			t.Fatal(err)
		}
		row := regexp.MustCompile(`(?m)^  bow .*$`).FindString(out.String())
		if got := strings.Fields(row); len(got) < 4 || got[2] != c[2] || got[3] != c[2] {
			t.Errorf("%s: %q, want %s", unit, row, c[2])
		}
	}
}
