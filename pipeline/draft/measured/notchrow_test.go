package measured

import (
	"fmt"
	"math"
	"slices"
	"testing"
)

const rowOnBand = `style: S
unit: cm
draft front:
  A: start
  B: from A out 10
  C: from B down 40
  D: from A down 40
  M: from A out 6
  top: line A to M
  top two: line M to B
  side: line B to C
  hem: line C to D
  left: line D to A
  outline: top, top two, side, hem, left
draft half:
  A: start
  B: from A out 10
  C: from B down 40
  D: from A down 40
  top: line A to B
  side: line B to C
  hem: line C to D
  left: line D to A
  outline: top, side, hem, left on the fold
draft back half:
  A: start
  B: from A out 12
  C: from B down 40
  D: from A down 40
  top: line A to B
  side: line B to C
  hem: line C to D
  left: line D to A
  outline: top, side, hem, left on the fold
draft shaped:
  A: start
  B: from A out 47
  C: from B down 4
  D: from A down 4
  upper: line A to B
  end: line B to C
  lower: line C to D
  far end: line D to A
  outline: upper, end, lower, far end
pieces:
  p: front; cut 1
  front: half; cut 1 on the fold
  back: back half; cut 1 on the fold
  shaped: shaped; cut 1
  short: strip 4 wide, 10 long; cut 1
  band: strip 4 wide, 44 long, underlap 3; cut 1
allow: 1
notches:
  %s
sewn:
  - %s
`

// Notches of a row of edges stand on the one edge of a band, and those of the band on the row. The places are added by hand:
// a row of 6 and 4 on 10; a front of 20, its middle at 10, and a back of 24, its middle at 32, on 44.
func TestNotchesOfARowOntoABand(t *testing.T) {
	for _, c := range []struct {
		notches, seam, piece string
		want                 []float64 // across
	}{
		{"p top: one, 5 from A", "p top + p top two = short long edge", "short", []float64{5}},
		{"p top two: one, 1 from B", "p top + p top two = short long edge", "short", []float64{9}},
		{"p top: one, 5 from A", "p top + p top two = short far edge", "short", []float64{5}},
		{"short long edge: one, 5 from the start; one, 9 from the start", "p top + p top two = short long edge", "p", []float64{5, 9}},
		{"short long edge: one, 9 from the start", "short long edge = p top + p top two", "p", []float64{9}},
		{"front top: one, 4 from A", "twice front top + twice back top = band long edge", "band", []float64{6, 14}},
		{"front top: one, 4 from A; one, at A", "twice front top + twice back top = band far edge", "band", []float64{6, 10, 14}},
		{"back top: one, at A; one, 3 from B", "twice front top + twice back top = band long edge", "band", []float64{23, 32, 41}},
		{"back top: one, 3 from B", "band long edge = twice front top + twice back top", "band", []float64{23, 41}},
		{"front top: one, 4 from A", "twice front top + twice back top = shaped upper, underlap 3 at end", "shaped", []float64{6, 14}},
		{"front top: one, 4 from A", "twice front top + twice back top = shaped lower, underlap 3 at far end", "shaped", []float64{33, 41}},
		{"band long edge: one, 6 from the start; one, 14 from the start; one, 32 from the start; one, 41 from the start", "twice front top + twice back top = band long edge", "front", []float64{4}},
		{"band long edge: one, 23 from the start; one, 41 from the start", "twice front top + twice back top = band long edge", "back", []float64{9}},
	} {
		var got []float64
		for _, n := range pieceNamed(drawText(t, fmt.Sprintf(rowOnBand, c.notches, c.seam)), c.piece).Notches {
			got = append(got, n.At[0])
		}
		slices.Sort(got)
		if !slices.EqualFunc(got, c.want, func(a, b float64) bool { return math.Abs(a-b) < 1e-9 }) {
			t.Errorf("%s; %s: %v on %s, want %v", c.notches, c.seam, got, c.piece, c.want)
		}
	}
}
