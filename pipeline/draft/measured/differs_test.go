package measured

import (
	"fmt"
	"strings"
	"testing"

	"tracewheel/pipeline/check"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/pattern"
)

// People cut from the figures: they say of a seam what check says of it. Lengths are those of the strips as told.
func TestFiguresSayOfASeamWhatCheckSays(t *testing.T) {
	for _, c := range []struct {
		long, said string
		tolerance  float64 // the workroom's; 0 for none
		refused    bool
		want       string
	}{
		{"40", "", 0, false, "of one length, as stated"},
		{"40.04", "", 0, false, "of one length, as stated"},
		{"40.1", "", 0, false, "b long edge is 0.1 longer than a long edge, kept within 0.2"},
		{"40.1", "", 0.5, true, "differs: b long edge is 0.1 longer than a long edge, and is to be of one length"},
		{"37", "", 0, true, "differs: a long edge is 3 longer than b long edge, and is to be of one length"},
		{"37", ", within 4", 0, false, "a long edge is 3 longer than b long edge, kept within 4"},
		{"40.6", ", 1 longer, within 0.5", 0, false, "b long edge is 0.6 longer than a long edge, and b long edge is to be 1 longer, kept within 0.5"},
		{"40", ", 1 longer, within 2", 0, false, "of one length, and b long edge is to be 1 longer, kept within 2"},
		{"41", ", 1 longer", 0, false, "b long edge is 1 longer than a long edge, as stated"},
		{"39", ", 1 shorter", 0, false, "a long edge is 1 longer than b long edge, as stated"},
		{"39", ", 1 longer", 0, true, "differs: a long edge is 1 longer than b long edge, and b long edge is to be 1 longer"},
		{"40", ", 1 longer", 0, true, "differs: of one length, and b long edge is to be 1 longer"},
	} {
		text := []byte(fmt.Sprintf("style: two strips\nunit: cm\npieces:\n  a: strip 5 wide, 40 long; cut 1\n  b: strip 5 wide, %s long; cut 1\nallow: 1\nsewn:\n  - a long edge = b long edge%s\n", c.long, c.said))
		var f *figures.Figures
		p, err := ReadFigured(text, "x.yaml", Options{SeamTolerance: c.tolerance}, func(g *figures.Figures) { f = g })
		if err != nil {
			t.Fatal(err)
		}
		refused := ""
		for _, g := range check.Run(p, check.Limits{SeamTolerance: c.tolerance}, nil) {
			if g.Rule == pattern.RuleSeamLengths {
				refused = g.Message + "; " + g.Mend
			}
		}
		if got := f.Between(f.Seams[0]); got != c.want || (refused != "") != c.refused || (f.Seams[0].Off != 0) != c.refused {
			t.Errorf("40 and %s%s: %q, off %v, check says %q; want %q", c.long, c.said, got, f.Seams[0].Off, refused, c.want)
		}
		if c.long == "39" && c.refused && !strings.Contains(refused, "speak of the second side, b long edge, which is 1 cm shorter") {
			t.Errorf("the mend names no side: %s", refused)
		}
	}
}
