package measured

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"tracewheel/geom"
)

// A knife pleat 3 deep takes 6 of cloth at M, 10 from the left (common practice: twice its depth): 8 across it would be a cut
// of 14. Beside it a cut is as long as it is told.
func TestCutsAcrossAPleat(t *testing.T) {
	const text = `style: S
unit: cm
draft p:
  A: start
  B: from A out 30
  C: from B down 40
  D: from A down 40
  M: from A out 10
  P: from A out 6, down 10
  Q: from P out 8
  R: from Q out 8
  S: from R down 20
  top: line A to B
  side: line B to C
  hem: line C to D
  left: line D to A
  pleat: knife facing out, 3 deep, on plumb through M, top to hem
  outline: top, side, hem, left
pieces:
  p: p; cut 1
allow: 1
marks:
  p:
    - %s
`
	for mark, told := range map[string]string{
		"buttonhole P to Q":                                 "buttonhole runs across a pleat or a moved dart: told 8 cm long, its ends lie 14 cm apart",
		"slit P to Q, called pocket":                        "slit runs across a pleat or a moved dart: told 8 cm long, its ends lie 14 cm apart",
		"slit P to R":                                       "told 16 cm long, its ends lie 22 cm apart",
		"buttonholes 1, from P to Q, level, 8 long":         "told 8 cm long, its ends lie 14 cm apart",
		"buttonhole Q to R":                                 "",
		"slit R to S":                                       "",
		"line P to Q, called pocket line":                   "",
		"buttonholes 2, from R to S, level, 8 long, 8 past": "",
		"buttonholes 2, from R to S, plumb, 2 long":         "",
	} {
		got := said(t, fmt.Sprintf(text, mark), "")
		if told == "" && strings.Contains(got, "runs across") || !strings.Contains(got, told) {
			t.Errorf("%s: %s; want %q", mark, got, told)
		}
	}
	hole := marksNamed(pieceNamed(drawText(t, fmt.Sprintf(text, "buttonhole Q to R")), "p").Marks, "buttonhole")
	if len(hole) != 1 || math.Abs(geom.Dist(hole[0].From, hole[0].To)-8) > 1e-9 {
		t.Errorf("beside the pleat: %v", hole)
	}
}
