package making

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/pattern"
)

// TestCheckTellsWhatLayRefuses: a piece that does not lie on its cloth as the draft says that it is wide and folded is told by
// check, and lay refuses it; where it lies, neither says anything. By hand: with allowances of 1 cm a rectangle 43 wide is 45,
// half of 90; on the fold its own edge has none.
func TestCheckTellsWhatLayRefuses(t *testing.T) {
	for _, c := range []struct {
		cloth, piece string
		told         string // "" where it lies
	}{
		{"90 wide, folded once", "rectangle 43 by 60; cut 2", ""},
		{"90 wide, folded once", "rectangle 44 by 60; cut 2", `"front" needs 46 cm across, and the cloth "main", folded once, selvedge on selvedge, has 45 cm there`},
		{"90 wide, folded once, 1 selvedge", "rectangle 43 by 60; cut 2", `has 44 cm there`},
		{"90 wide, folded once", "half 44", ""},
		{"90 wide, folded once", "half 46", `"front" is 94 cm wide and the cloth "main" 90 cm`},
		{"90 wide, folded once, 1 selvedge", "half 44", `is 90 cm wide and the cloth "main" 90 cm, selvedges 1 cm each`},
		{"90 wide, folded once", "rectangle 44 by 60; cut 1", "no piece of it needs that"},
		{"90 wide, in one layer", "rectangle 88 by 60; cut 2", ""},
		{"90 wide, in one layer, 1 selvedge", "rectangle 88 by 60; cut 2", `is 90 cm wide and the cloth "main" 90 cm, selvedges 1 cm each`},
		{"90 wide, folded twice", "rectangle 20 by 60; cut 2", ""},
		{"90 wide, folded twice", "rectangle 22 by 60; cut 2", "has 22.5 cm there"},
		{"90 wide, part folded", "half 30", ""},
		{"90 wide, part folded", "rectangle 30 by 60; cut 2", "no piece of it needs that"},
		{"90 wide", "rectangle 88 by 60; cut 2", ""},
	} {
		drawn, piece := "", c.piece
		if wide, is := strings.CutPrefix(c.piece, "half "); is {
			drawn, piece = "draft panel:\n  O: start\n  A: from O out "+wide+"\n  B: from A down 60\n  C: from O down 60\n  top: line O to A\n  side: line A to B\n"+
				"  hem: line B to C\n  centre: line C to O\n  outline: top, side, hem, centre on the fold\n", "panel; cut 1 on the fold"
		}
		r := Request{Name: "told.yaml", Source: fmt.Appendf(nil, "style: Told\nunit: cm\n%scloth:\n  main: %s\npieces:\n  front: %s\nallow: 1\n", drawn, c.cloth, piece)}
		m := New(Sample())
		w := m.Look(r)
		if pattern.Worst(w.Findings) == pattern.Error {
			t.Fatalf("%s, %s: %v", c.cloth, c.piece, w.Findings)
		}
		k := slices.IndexFunc(w.Findings, func(f pattern.Finding) bool { return f.Rule == pattern.RuleTooWide })
		told := ""
		if k >= 0 {
			told = w.Findings[k].Message
		}
		if (told == "") != (c.told == "") || !strings.Contains(told, c.told) {
			t.Errorf("%s, %s: check says %q, want %q", c.cloth, c.piece, told, c.told)
		}
		_, err := m.LayFiles(t.Context(), []Request{r}, cloths.Wish{Alone: true})
		if (err != nil) != (c.told != "") {
			t.Errorf("%s, %s: check says %q and lay %v", c.cloth, c.piece, told, err)
		}
	}
}
