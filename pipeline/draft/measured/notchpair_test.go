package measured

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sewn"
	"tracewheel/pipeline/pattern"
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

// TestNotchesOfPlainEdges: two rectangles of 40 are laid face to face, so that what stands 10 and 10.8 from one end of the one stands
// as far from the other end of the other, and likewise of a drawn edge on a strip: what is 3 from the left under the strip that is
// turned onto it is 3 from the strip's right, by hand.
func TestNotchesOfPlainEdges(t *testing.T) {
	worn := func(e *sewn.Sewing, piece, edge string) (at []float64) {
		p := pieceNamed(e, piece)
		for _, n := range p.Notches {
			if n.Edge == p.Edge(edge) {
				at = append(at, n.Worn)
			}
		}
		slices.Sort(at)
		return at
	}
	const cushion = "style: Cushion\nunit: cm\npieces:\n  front: rectangle 40 by 40; cut 1\n  back: rectangle 40 by 40; cut 1\nallow: 1.5\n" +
		"notches:\n  front top: one, at the middle\n  front bottom: two, 10 from the start, 0.8 apart\nsewn:\n  - front top = back top\n  - front bottom = back bottom\n"
	e := drawText(t, cushion)
	front, back := worn(e, "front", "bottom"), worn(e, "back", "bottom")
	if len(front) != 2 || len(back) != 2 || math.Abs(front[0]+back[1]-40) > 1e-9 || math.Abs(front[1]+back[0]-40) > 1e-9 {
		t.Errorf("the bottoms have notches at %v and %v", front, back)
	}
	if top := worn(e, "back", "top"); len(top) != 1 || math.Abs(top[0]-20) > 1e-9 {
		t.Errorf("the back's top has notches at %v", top)
	}
	if got := worn(drawText(t, strings.ReplaceAll(cushion, "cut 1", "cut 2, a pair")), "back", "bottom"); len(got) != 0 {
		t.Errorf("of pairs nobody knows which way they lie: %v", got)
	}
	const bound = "style: Bound\nunit: cm\ndraft a:\n  O: start\n  P: from O out 10\n  Q: from P down 20\n  R: from O down 20\n  top: line O to P\n  end: line P to Q\n  foot: line Q to R\n  near: line R to O\n  outline: top, end, foot, near\n" +
		"pieces:\n  a: a; cut 1\n  c: strip 4 wide, 10 long; cut 1\nallow: 1\nnotches:\n  a top: one, 3 from O\nsewn:\n  - a top = c long edge\n"
	if got := worn(drawText(t, bound), "c", "long edge"); len(got) != 1 || math.Abs(got[0]-7) > 1e-9 {
		t.Errorf("the strip has notches at %v", got)
	}
}

// A notch of a half on the fold that is sewn twice stands on both sides of the whole edge's middle, and the other way round:
// 20 from the fold to the end, 40 in all, by hand. What has no mirror image is not carried over, and is told of.
func TestNotchesOfAHalf(t *testing.T) {
	text := func(notches string) string {
		return "style: S\nunit: cm\ndraft front:\n  A: start\n  B: from A out 20\n  C: from B down 40\n  D: from A down 40\n  top: line A to B\n  side: line B to C\n  hem: line C to D\n  centre: line D to A\n" +
			"  outline: top, side, hem, centre on the fold\ndraft band:\n  E: start\n  F: from E out 40\n  G: from F down 6\n  H: from E down 6\n  upper: line E to F\n  end: line F to G\n  lower: line G to H\n  far: line H to E\n  outline: upper, end, lower, far\n" +
			"pieces:\n  front: front; cut 1 on the fold\n  band: band; cut 1\nallow: 1\nnotches:\n" + notches + "sewn:\n  - twice front top = band upper\n"
	}
	worn := func(notches, piece string) []float64 {
		var out []float64
		for _, n := range pieceNamed(drawText(t, text(notches)), piece).Notches {
			out = append(out, n.Worn)
		}
		slices.Sort(out)
		return out
	}
	for _, c := range []struct {
		notches, piece string
		want           []float64
	}{
		{"  front top: one, 5 from A\n", "band", []float64{15, 25}},
		{"  front top: one, 3 from B\n", "band", []float64{3, 37}},
		{"  band upper: one, 15 from E; one, 15 from F; one, at the middle\n", "front", []float64{5}},
		{"  band upper: one, 15 from E\n", "front", nil},
	} {
		got := worn(c.notches, c.piece)
		if len(got) != len(c.want) {
			t.Errorf("%s on %s: %v, want %v", c.notches, c.piece, got, c.want)
			continue
		}
		for i := range got {
			if math.Abs(got[i]-c.want[i]) > 1e-9 {
				t.Errorf("%s on %s: %v, want %v", c.notches, c.piece, got, c.want)
			}
		}
	}
	told := func(notches string) (out []string) {
		for _, f := range seamFindings(drawText(t, text(notches))) {
			if f.Rule == pattern.RuleNotchNoPartner {
				out = append(out, f.Message)
			}
		}
		return out
	}
	for notches, want := range map[string]int{
		"  front top: one, 5 from A\n": 0, "  band upper: one, 15 from E; one, 15 from F\n": 0,
		"  band upper: one, 15 from E\n":                                             1,
		"  front top: one, 5 from A\n  band upper: one, 13 from E; one, 13 from F\n": 3,
	} {
		if got := told(notches); len(got) != want {
			t.Errorf("%s: %q, want %d", notches, got, want)
		}
	}
}
