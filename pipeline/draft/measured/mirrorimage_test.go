package measured

import (
	"strings"
	"testing"

	"tracewheel/pipeline/draft/measured/figures"
)

// What lies on the middle of a piece that is its own mirror image, or beside it on both sides, makes no pair of two; what lies on
// one side alone does (common practice: each side of a garment has its own hand).
func TestMarksOnTheMiddleMakeNoPair(t *testing.T) {
	const text = `style: S
unit: cm
draft p:
  A: start
  B: from A out 12
  C: from B down 13
  D: from A down 13
  M: half-way from A to B
  E: from M down 5
  F: from A out 3, down 5
  G: from A out 9, down 5
  top: line A to B
  bag: line B to C to D to A, rounded at C 3, rounded at D 3
  outline: top, bag
draft q:
  trace: p
  pleat: box, 1 deep, 4 wide, on plumb through M, top to bag
  outline: top, bag
draft w:
  trace: p
  pleat: knife facing out, 1 deep, on plumb through M, top to bag
  outline: top, bag
pieces:
  one: DRAWING; cut 2
allow: 1
`
	for said, pair := range map[string]bool{
		"p": false, "q": false, "w": true,
		"p|button at M": false, "p|button at E": false, "p|button at F": true, "p|button at F|button at G": false, "p|drill at F|button at G": true,
		"p|drill at E": false, "p|drill at F": true, "p|drill at F|drill at G": false,
		"p|line F to G": false, "p|line F to M": true, "p|line M to E": false, "p|slit M to E": false, "p|buttonhole F to G": false,
	} {
		drawing, marks, marked := strings.Cut(said, "|")
		more := ""
		if marked {
			more = "marks:\n  one:\n    - " + strings.ReplaceAll(marks, "|", "\n    - ") + "\n"
		}
		f := figures.Of(drawText(t, strings.Replace(text, "DRAWING", drawing, 1)+more))
		if f.Pieces[0].Pair != pair {
			t.Errorf("%s: a pair is %v", said, f.Pieces[0].Pair)
		}
	}
}
