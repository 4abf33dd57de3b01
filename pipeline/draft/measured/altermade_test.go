package measured

import (
	"strings"
	"testing"
)

// A fitting on an edge that no sentence of an outline draws, the legs of a princess seam or the inner edge of a facing,
// is left out and told, with what mends it; the draft is drawn.
func TestFittingOfAMadeEdge(t *testing.T) {
	princess := strings.Replace(divided(seamLine, 97, ""), "body: {bust: 97}", "card: chorus-4", 1)
	faced := strings.Replace(shiftDress, "front lower side = back", "front lower side = back", 1) + "  - neck facing inner edge = neck facing inner edge\n"
	for _, c := range []struct{ draft, change, edge string }{
		{princess, "let out princess 0.5 at S", "princess"},
		{princess, "take in centre front princess 0.5", "princess"},
		{faced, "let out inner edge 0.5", "inner edge"},
	} {
		e, err := fitted(t, c.draft, "2026-11-20: "+c.change)
		if err != nil {
			t.Errorf("%s: %v", c.change, err)
			continue
		}
		told := ""
		for _, f := range e.Findings {
			if strings.Contains(f.Message, c.change) {
				told = f.Message + " " + f.Mend
			}
		}
		if !strings.Contains(told, `"`+c.edge+`" is no edge that is drawn`) {
			t.Errorf("%s: told %q", c.change, told)
		}
	}
}
