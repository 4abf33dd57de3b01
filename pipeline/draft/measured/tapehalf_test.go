package measured

import (
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
