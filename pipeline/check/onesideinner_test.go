package check_test

import (
	"strings"
	"testing"
)

// A slit on the fold is one slit of the whole piece, and is drawn once: it begins on the cut line, past the end of the fold.
func TestSlitOnTheFoldIsDrawnOnce(t *testing.T) {
	source := strings.NewReplacer("drop: 4", "drop: 4\n  opening: 6", "  neck: line", "  W: from N down 6\n  neck: line", "cut 2, a pair", "cut 1 on the fold", "side, hem, centre", "side, hem, centre on the fold").Replace(sleeveless) +
		"marks:\n  fore:\n    - slit N to W\n"
	pt := readSided(t, source, "  left drop: 6\n")
	if len(pt.Pieces) != 1 || pt.Pieces[0].FoldLine() != nil || len(pt.Pieces[0].Marks) != 1 {
		t.Errorf("%d slits in %d pieces, want one in one that is opened out", len(pt.Pieces[0].Marks), len(pt.Pieces))
	}
}
