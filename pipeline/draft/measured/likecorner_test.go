package measured

import (
	"strings"
	"testing"

	"tracewheel/pipeline/pattern"
)

// untrueCorners are the corners of a draft that are not true.
func untrueCorners(t *testing.T, text string) (out []pattern.Corner) {
	t.Helper()
	for _, c := range drawText(t, text).Corners {
		if c.Degrees < 177 || c.Degrees > 183 {
			out = append(out, c)
		}
	}
	return out
}

const gore = `style: Gored skirt
unit: cm
draft gore:
  O: start
  A: from O out 8
  C: from O down 60
  B: from C out 20
  waist: line O to A
  side: line A to B
  hem: line B to C
  centre: line C to O
  outline: waist, side, hem, centre on the fold
pieces:
  gore: gore; cut 5 on the fold
allow: 1
sewn:
  - gore side = gore side
`

// TestCornersOfLike: gores that are sewn to their like with a straight waist and hem make a dent at the one and a beak at the
// other. The side leans by atan(12/60), 11.31 degrees, so that the waist's two corners are 90 + 11.31 each.
func TestCornersOfLike(t *testing.T) {
	got := untrueCorners(t, gore)
	if len(got) != 2 || got[0].Degrees+got[1].Degrees < 359.9 || got[0].Degrees+got[1].Degrees > 360.1 {
		t.Fatalf("corners: %+v", got)
	}
	for _, c := range got {
		if want := map[bool]float64{true: 202.62, false: 157.38}[strings.HasPrefix(c.What, "the waist")]; c.Degrees < want-0.01 || c.Degrees > want+0.01 {
			t.Errorf("%s: %.2f degrees, want %.2f", c.What, c.Degrees, want)
		}
	}
	if got := untrueCorners(t, strings.Replace(gore, "= gore side", "= gore side, pointed at waist, pointed at hem", 1)); len(got) != 0 {
		t.Errorf("points that are meant: %+v", got)
	}
	if got := untrueCorners(t, strings.Replace(gore, "= gore side", "= gore side, laid on", 1)); len(got) != 0 {
		t.Errorf("one laid on the other: %+v", got)
	}
}

// TestSlitInASideSeam: where the edges of a slit run on in a seam's own line, nothing crosses the seam there.
func TestSlitInASideSeam(t *testing.T) {
	const tabard = `style: Tabard
unit: cm
draft front:
  O: start
  A: from O out 25
  S: from A down 50
  B: from S down 20
  C: from O down 70
  top: line O to A
  side: line A to S
  slit: line S to B
  hem: line B to C
  centre: line C to O
  outline: top, side, slit, hem, centre on the fold
draft back:
  trace: front
  outline: top, side, slit, hem, centre on the fold
pieces:
  front: front; cut 1 on the fold
  back: back; cut 1 on the fold
allow: 1
sewn:
  - front side = back side
`
	if got := untrueCorners(t, tabard); len(got) != 0 {
		t.Errorf("a slit: %+v", got)
	}
	if got := untrueCorners(t, strings.ReplaceAll(tabard, "B: from S down 20", "B: from S down 20, back 20")); len(got) != 1 {
		t.Errorf("a hem that leaves the seam at 135 degrees on both sides: %+v", got)
	}
}

// TestSecondWordOfAName: a slip in the second word of a name whose first is a name of its own.
func TestSecondWordOfAName(t *testing.T) {
	text := strings.Replace(gore, "draft gore:", "body: {neck: 36}\nnumbers:\n  neck width: neck/6\n  wide: neck widht + 2\ndraft gore:", 1)
	_, err := draw([]byte(text), "x.yaml", Options{})
	if err == nil || !strings.Contains(err.Error(), `"neck widht" is no measure or number known here; did you mean "neck width"?`) {
		t.Errorf("%v", err)
	}
}
