package measured

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/sewn"
)

// sheath is a back to the hem with a dart inside it at the waist, and one at the shoulder.
func sheath(dart, shoulder string) string {
	return fmt.Sprintf(`style: S
unit: cm
body: {waist: 74}
draft back:
  O: start
  N: from O out 7.5, up 2
  M: from N falling 3 for every 8, 5
  M2: from M falling 3 for every 8, 1.4
  P: from M2 down 8, back 2
  M1: from P toward M distance P to M2
  T: from M2 falling 3 for every 8, 7
  U: from O down 21, out 24
  Wc: from O down 41
  W: from Wc out 22
  H: from Wc down 20, out 25.5
  E: from Wc down 60
  L: from E out 26
  D: from Wc out 10
  K: along side 8 from U
  neck: curve O to N, leaving level, arriving plumb up
  inner shoulder: line N to M1
  shoulder cap: line M1 to M2
  shoulder: line M2 to T
  armhole: curve T to U, leaving plumb down, arriving level
  side: line U to W to H to L
  hem: line L to E
  centre: line E to O
  dart waist: %s
  dart shoulder: M1 to P to M2%s
  outline: neck, inner shoulder, shoulder cap, shoulder, armhole, side, hem, centre on the fold
pieces:
  back: back; cut 1 on the fold
allow:
  all: 1
ease:
  waist: at least 0, finished 4*sewn width of back at Wc
`, dart, shoulder)
}

// A dart inside the piece leaves the outline alone; its legs are equal in pairs, what it takes is gone from
// the width at its level (similar triangles above and below), and its marks lie where it was told.
func TestInsideDart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		take, up, down := rapid.Float64Range(0.5, 5).Draw(t, "take"), rapid.Float64Range(5, 15).Draw(t, "up"), rapid.Float64Range(5, 13).Draw(t, "down")
		e := drawText(t, sheath(fmt.Sprintf("at D, takes %v, %v up and %v down", take, up, down), ", folded back"))
		pc := pieceNamed(e, "back")
		var legs []float64
		for _, m := range pc.Marks {
			if m.Name == "dart leg" {
				legs = append(legs, geom.Dist(m.From, m.To))
			}
		}
		if len(legs) != 6 {
			t.Fatalf("%d legs", len(legs))
		}
		a, b := math.Hypot(take/2, up), math.Hypot(take/2, down)
		for i, want := range []float64{a, b, a, b} {
			if math.Abs(legs[2+i]-want) > 1e-9 {
				t.Errorf("legs %v, want %v and %v", legs, a, b)
			}
		}
		if got := e.Girths[0].Finished / 4; math.Abs(got-22+take) > 1e-6 {
			t.Errorf("the waist is %v wide, drawn 22, and %v is taken", got, take)
		}
		if curve.Area(pc.Edges) != curve.Area(pc.Worn) {
			t.Error("the outline was changed")
		}
	})
	// Half-way up the dart half of it is taken.
	plain := strings.Replace(sheath("at D, takes 3, 12 up and 10 down", ""), "  dart waist: at D, takes 3, 12 up and 10 down\n", "", 1)
	wide := func(e *sewn.Sewing, what string) float64 { return value(t, e, what) }
	e, f := drawText(t, sheath("at D, takes 3, 12 up and 10 down", "")), drawText(t, plain)
	for p, want := range map[string]float64{"back Wc": 3, "back K": 0, "back H": 0} {
		if got := wide(f, "sewn width of back at "+p) - wide(e, "sewn width of back at "+p); math.Abs(got-want) > 1e-9 {
			t.Errorf("at %s %v is taken, want %v", p, got, want)
		}
	}
}

// It is carried along where another dart is moved.
func TestInsideDartIsCarried(t *testing.T) {
	back := func(moved string) *pieces.Piece {
		text := strings.Replace(sheath("at D, takes 3, to A and B", moved), "  K: along", "  A: from D up 14, back 0.5\n  B: from D down 14, out 0.5\n  R: along armhole 9 from T\n  K: along", 1)
		return pieceNamed(drawText(t, text), "back")
	}
	pc, d := back(", moved to armhole at R"), back("").Form.Inside[0]
	for k, q := range pc.Form.Inside[0].Ends {
		if geom.Dist(q, pc.Carry(d.Ends[k])) > 1e-9 {
			t.Errorf("%v, want %v", q, pc.Carry(d.Ends[k]))
		}
	}
}

func TestInsideDartRefused(t *testing.T) {
	for dart, want := range map[string]string{
		"at D, takes -1, 12 up and 10 down": "cannot take -1",
		"at D, takes 3, 12 up":              "a number is wanted here",
		"at D, takes 3, 0 up and 12 down":   "it runs both ways",
		"at D, takes 3, 50 up and 12 down":  "reaches out of the piece",
		"at D, takes 30, 12 up and 12 down": "reaches out of the piece",
		"at D, takes 3, to O and U":         "do not lie on one line",
		"at P, takes 1, 3 up and 3 down":    "runs into the dart shoulder",
		"at D, takng 3, 12 up and 10 down":  `"takes" is wanted`,
		"at D, takes 3":                     `add 15 up and 12 down`,
	} {
		_, err := draw([]byte(sheath(dart, "")), "x.yaml", Options{})
		if err == nil || !strings.Contains(err.Error(), want) || !strings.HasPrefix(err.Error(), "x.yaml:28:") {
			t.Errorf("%s: want %q, got %v", dart, want, err)
		}
	}
}

// A dart that has nothing to take, as on a straight body, is not drawn, inside the piece or at an edge: its edges and marks
// are those of a draft without it. What takes 2 is drawn still.
func TestDartOfNought(t *testing.T) {
	at := func(dart string) *pieces.Piece { return drawText(t, sheath(dart, "")).Pieces[0] }
	none, some := at("at D, takes larger of 0 and (2 - 5), 12 up and 10 down"), at("at D, takes 2, 12 up and 10 down")
	if len(none.Form.Inside) != 0 || len(some.Form.Inside) != 1 {
		t.Errorf("inside: %d and %d darts", len(none.Form.Inside), len(some.Form.Inside))
	}
	const skirt = "style: S\nunit: cm\ndraft p:\n  O: start\n  A: from O out 30\n  B: from A down 40\n  C: from O down 40\n  D: from O out 15\n  top: line O to A\n  side: line A to B\n  hem: line B to C\n  centre: line C to O\n  dart w: at D, takes %s, 9 long\n  outline: top, side, hem, centre\npieces:\n  p: p; cut 1\nallow: 1\n"
	for takes, want := range map[string]int{"0": 0, "2": 1} {
		pc := drawText(t, fmt.Sprintf(skirt, takes)).Pieces[0]
		if len(pc.Form.Darts) != want || math.Abs(pc.WornLength(pc.Edge("top"))-30+2*float64(want)) > 1e-6 {
			t.Errorf("takes %s: %d darts, the top sewn %v", takes, len(pc.Form.Darts), pc.WornLength(pc.Edge("top")))
		}
	}
}
