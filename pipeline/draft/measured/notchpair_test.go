package measured

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
)

// paired is a front and a back sewn at the side; the back is drawn the other way round.
func paired(notches, sewn string) string {
	return fmt.Sprintf(`style: S
unit: cm
draft front:
  A: start
  B: from A out 20
  C: from B down 40, out 3
  D: from A down 40
  top: line A to B
  side: line B to C
  hem: line C to D
  centre: line D to A
  outline: top, side, hem, centre on the fold
draft back:
  A: start
  B: from A out 24
  C: from B down 40.5, out 3
  D: from A down 40.5
  top: line B to A
  side: line C to B
  hem: line D to C
  centre: line A to D
  outline: top, centre on the fold, hem, side
pieces:
  front: front; cut 1 on the fold
  back: back; cut 1 on the fold
allow: 1.5
notches:
%s
sewn:
  - %s
`, notches, sewn)
}

// Notches that are told of one side stand on both, equally far from the end to which they are nearer
// (common practice: the ease of a seam lies between its notches).
func TestPartnerNotches(t *testing.T) {
	e := drawText(t, paired("  front side: one, 9 from B; two, 8 from C, 0.8 apart", "front side = back side, 0.5 longer, pointed at hem"))
	back := pieceNamed(e, "back")
	side := back.Worn[back.Edge("side")].Curve
	var got []float64 // from the top
	for _, n := range back.Notches {
		if n.Edge != back.Edge("side") {
			t.Errorf("a notch on the %s", back.Edges[n.Edge].Name)
		}
		got = append(got, geom.Dist(n.At, side.End()))
		if math.Abs(curve.NearestOn(side, n.At)-n.Worn) > 1e-9 {
			t.Errorf("%v does not lie on the side", n.At)
		}
	}
	long := side.Length()
	for i, want := range []float64{9, long - 8, long - 8.8} {
		if i >= len(got) || math.Abs(got[i]-want) > 1e-9 {
			t.Fatalf("%v from the top, want the one at %v", got, want)
		}
	}

	// What is told of both stays as it is told.
	e = drawText(t, paired("  front side: one, 9 from B\n  back side: one, 12 from B", "front side = back side, 0.5 longer, pointed at hem"))
	if n := pieceNamed(e, "back").Notches; len(n) != 1 || math.Abs(n[0].Worn-(long-12)) > 1e-9 {
		t.Errorf("told of both: %+v", n)
	}

	// Where no edge across tells which ends meet, none is set.
	text := paired("  front side: one, 9 from B", "front side = back side, 0.5 longer")
	front, rest, _ := strings.Cut(text, "draft back:")
	for _, n := range []string{"top", "hem"} {
		front = strings.ReplaceAll(front, n, "front "+n+" line")
	}
	front = strings.ReplaceAll(front, "front hem line", "edge below")
	e = drawText(t, front+"draft back:"+rest)
	if n := pieceNamed(e, "back").Notches; len(n) != 0 {
		t.Errorf("nobody knows which ends meet: %+v", n)
	}
}
