package measured

import (
	"math"
	"strings"
	"testing"

	"tracewheel/pipeline/draft/measured/figures"
)

const eightGores = `style: S
unit: in
draft gore:
  O: start
  A: from O back 3 27/32 / 2
  B: from O out 3 27/32 / 2
  Ho: from O down 6
  P: from Ho back 5 3/16 / 2
  Q: from Ho out 5 3/16 / 2
  R: from O down 24, back 7 11/16 / 2
  S: from O down 24, out 7 11/16 / 2
  top: line A to B
  right: line B to Q to S
  hem: line S to R
  left: line R to P to A
  outline: top, right, hem, left
pieces:
  gore: gore; cut 8
  yoke: strip 3 wide, 30 3/4 long; cut 1
allow: 1/2
marks:
  gore: line P to Q, called hip
sewn:
  - 8 times gore top = yoke long edge
`

// Eight gores that are chalked by the list make the waist of 30 3/4 in (8 of 3 27/32) and the hip of 41 1/2 in (8 of 5 3/16) within
// 1/4 in, what rounding may move a girth by; to 1/8 alone the waist would come to 31 (8 of 3 7/8), as a dressmaker found. Of one piece alone 1/8 will do.
func TestGoresAddUp(t *testing.T) {
	f := figures.Of(drawText(t, eightGores))
	told := func(s string) float64 {
		said, exact, ok := strings.Cut(s, " (")
		if ok {
			said = strings.TrimSuffix(exact, ")")
		}
		return tapeRead(t, said)
	}
	gore, yoke := f.Pieces[0], f.Pieces[1]
	if got := 8 * told(gore.Edges[0].Chalk); math.Abs(got-30.75) > 0.25 || !strings.HasPrefix(gore.Edges[0].Chalk, "3 7/8 (") {
		t.Errorf("eight tops of %s are %v, want 30 3/4", gore.Edges[0].Chalk, got)
	}
	at := map[string]float64{}
	for _, r := range gore.Marking.Outline {
		at[r.Point] = told(r.Across)
	}
	for _, r := range gore.Marking.Inside {
		at[r.Edge] = told(r.Across)
	}
	for name, c := range map[string][3]float64{"waist": {at["A"], at["B"], 30.75}, "hip": {at["P"], at["Q"], 41.5}, "hip line": {at["hip, from P"], at["hip, to Q"], 41.5}} {
		if got := 8 * (c[1] - c[0]); math.Abs(got-c[2]) > 0.25 {
			t.Errorf("the %s is %v as it is chalked, want %v", name, got, c[2])
		}
	}
	if !strings.Contains(gore.Marking.Exactly, "8 times") || yoke.Marking.Exactly != "" || yoke.Edges[0].Chalk != "30 3/4" {
		t.Errorf("told is %q of the gore, %q and %q of the yoke", gore.Marking.Exactly, yoke.Marking.Exactly, yoke.Edges[0].Chalk)
	}
	var text strings.Builder
	if err := f.Text(&text); err != nil || !strings.Contains(text.String(), " 3 7/8 (3 27/32) ") {
		t.Errorf("%v; no exact place on the list:\n%s", err, text.String())
	}
}
