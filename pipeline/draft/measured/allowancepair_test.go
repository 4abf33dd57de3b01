package measured

import (
	"fmt"
	"strings"
	"testing"

	"tracewheel/pipeline/pattern"
)

// Two panels that are sewn at the side, whose hems run on across it.
const unlikeSides = `style: S
unit: cm
draft p:
  A: start
  B: from A out 20
  C: from B down 30
  D: from A down 30
  top: line A to B
  side: line B to C
  hem: line C to D
  left: line D to A
  outline: top, side, hem, left
draft b:
  trace: p
  outline: top, side, hem, left
pieces:
  p: p; cut 2, a pair
  b: b; cut 2, a pair
allow: {all: 1, %s}
sewn:
  - p side = b side%s
`

// Common practice: two edges are sewn with their cut edges even, so that their allowances are one; a felled seam, or an edge
// that is bound, is told.
func TestAllowancesOfASeamAreCompared(t *testing.T) {
	for _, c := range []struct{ allow, more, want string }{
		{"p side: 2.5", "", "p side is cut with an allowance of 2.5 cm, and b side, to which it is sewn, with 1 cm"},
		{"p side: 2.5, b side: 2.5", "", ""},
		{"p side: 2.5", ", allowances differ", ""},
		{"p side: 2.5", ", laid on", ""},
		{"p side: none", "", ""},
		{"p side: 1.04", "", ""},
		{"p side: 1 to 3", "", "p side is cut with an allowance of 1 to 3 cm"},
		{"hem: 4", "", ""},
		{"p hem: 4", "", "p hem has an allowance of 4 cm and b hem one of 1 cm where they meet"},
		{"p hem: 4 to 1", "", "p hem has an allowance of 4 cm"},
		{"p hem: 1 to 4", "", ""},
		{"p hem: 4", ", allowances differ", ""},
	} {
		var got []string
		for _, f := range drawText(t, fmt.Sprintf(unlikeSides, c.allow, c.more)).Findings {
			if f.Rule == pattern.RuleAllowancesUnlike {
				got = append(got, f.Message)
			}
		}
		if c.want == "" && len(got) > 0 || c.want != "" && (len(got) != 1 || !strings.Contains(got[0], c.want)) {
			t.Errorf("%s%s: told is %q, want %q", c.allow, c.more, got, c.want)
		}
	}
}
