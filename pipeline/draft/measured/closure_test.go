package measured

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/check"
	"tracewheel/pipeline/draft/measured/pleats"
	"tracewheel/pipeline/pattern"
)

const buttoned = `style: S
unit: cm
draft front:
  O: start
  N: from O out 8
  F: from O down 8
  S: from N falling 3 for every 8, 12
  U: from O out 26, down 24
  W: from O out 24, down 60
  H: from O down 60
  X: from O down 25
  B1: from F down 1.5
  B5: from H up 12
  L: from F down 10
  neck: curve F to N, leaving level, arriving up
  shoulder: line N to S
  armhole: curve S to U, leaving square to S N down, arriving level out
  side: line U to W
  hem: line W to H
  centre: line H to F
  outline: neck, shoulder, armhole, side, hem, centre%s
pieces:
  front: front; cut 2, a pair
  facing: facing 5 deep along front %s; cut 2, a pair
cloth: {main: "150 wide%s"}
allow: 1
marks:
  front:
    - %s
`

func marksNamed(ms []pleats.InnerLine, name string) (out []pleats.InnerLine) {
	for _, m := range ms {
		if m.Name == name {
			out = append(out, m)
		}
	}
	return out
}

// Five buttonholes on a button stand of 2: ends and the one at the bust where they are told, the rest evenly in the wider
// space, each 1.6 long from 0.3 past the centre. Places by hand: 9.5 to 48 down, one at 25; of two more the wider space,
// 25 to 48, takes one, and then each of 15.5 and 11.5 the wider. That a level buttonhole begins a little past the centre, so
// that the button comes to lie on it, is common practice.
func TestButtonholes(t *testing.T) {
	text := fmt.Sprintf(buttoned, " extended 2", "upper end of centre + neck", "", "buttonholes 5, from B1 to B5, one at X, the rest evenly, level, 0.3 past the centre, 1.6 long, buttons opposite")
	e := drawText(t, text)
	pc := pieceNamed(e, "front")
	holes, buttons := marksNamed(pc.Marks, "buttonhole"), marksNamed(pc.Marks, "button")
	want := []float64{9.5, 17.25, 25, 36.5, 48}
	if len(holes) != 5 || len(buttons) != 5 {
		t.Fatalf("%d buttonholes and %d buttons", len(holes), len(buttons))
	}
	for i, y := range want {
		if h := holes[i]; geom.Dist(h.From, orb.Point{-0.3, y}) > 1e-6 || geom.Dist(h.To, orb.Point{1.3, y}) > 1e-6 {
			t.Errorf("buttonhole %d from %v to %v, want from -0.3 to 1.3 at %v", i, h.From, h.To, y)
		}
		if b := geom.Lerp(buttons[i].From, buttons[i].To, 0.5); geom.Dist(b, orb.Point{0, y}) > 1e-6 {
			t.Errorf("button %d at %v, want on the centre at %v", i, b, y)
		}
	}
	// The stand: the edge lies 2 beyond the centre, which is marked; both short ends are edges with their own names.
	if c := pc.Edges[pc.Edge("centre")].Curve; math.Abs(c.Start()[0]+2) > 1e-9 || math.Abs(c.Length()-52) > 1e-9 {
		t.Errorf("the extended centre: %v", c)
	}
	for _, n := range []string{"upper end of centre", "lower end of centre"} {
		if i := pc.Edge(n); i < 0 || math.Abs(pc.Edges[i].Curve.Length()-2) > 1e-9 {
			t.Errorf("%s: %d", n, i)
		}
	}
	if len(marksNamed(pc.Marks, "centre line")) != 1 {
		t.Error("the centre is not marked")
	}
	if y := pc.Edges[pc.Edge("upper end of centre")].Curve.Start()[1]; math.Abs(y-8) > 1e-9 {
		t.Errorf("the upper end lies at %v", y)
	}
	// The colon of a dressmaker's note, and a list of loops and ties spaced alike.
	for said, name := range map[string]string{"'buttonholes: 5, from B1 to B5, one at X, the rest evenly, level, 0.3 past the centre, 1.6 long'": "buttonhole", "buttonholes: 5, from B1 to B5, one at X, 0.3 past the centre, 1.6 long": "buttonhole", "loops 5, from B1 to B5, one at X, the rest evenly": "loop", "ties 5, from B1 to B5, one at X, the rest evenly": "tie"} {
		got := marksNamed(pieceNamed(drawText(t, fmt.Sprintf(buttoned, " extended 2", "upper end of centre + neck", "", said)), "front").Marks, name)
		if len(got) != 5 {
			t.Fatalf("%s: %d marks", said, len(got))
		}
		for i, y := range want {
			if math.Abs(got[i].From[1]-y) > 1e-6 {
				t.Errorf("%s: number %d at %v, want %v", said, i, got[i].From, y)
			}
		}
	}
}

// Buttonholes are cut only in a cloth that is said not to fray; else they are marked, and a note says so.
func TestButtonholesCutWhereNothingFrays(t *testing.T) {
	const said = "buttonholes 3, from B1 to B5, evenly, cut, 0.3 past the centre, 1.6 long"
	for cloth, cut := range map[string]int{"": 0, ", does not fray": 3} {
		p, err := Read([]byte(strings.Replace(fmt.Sprintf(buttoned, " extended 2", "upper end of centre + neck", cloth, said), "front: front; cut 2, a pair", "front: front; cut 1", 1)), "x.yaml", Options{})
		if err != nil {
			t.Fatal(err)
		}
		noted := false
		for _, f := range check.Run(p, check.Limits{SeamTolerance: 1}, nil) {
			noted = noted || strings.Contains(f.Message, "marked and not cut")
			if f.Severity == pattern.Error {
				t.Errorf("%q: %s", cloth, f.Message)
			}
		}
		holes := 0
		for _, m := range p.Pieces[0].Marks {
			if m.Label == "buttonhole" {
				holes++
			}
		}
		if len(p.Pieces[0].Cutouts) != cut || holes != 3-cut || noted == (cut > 0) {
			t.Errorf("%q: %d cut, %d marked, noted %v", cloth, len(p.Pieces[0].Cutouts), holes, noted)
		}
	}
}

// A facing follows a slit: 4 wide beside it and 4 below its end; its area by hand of the tongue's part below the strip.
func TestFacingFollowsSlit(t *testing.T) {
	plain := pieceNamed(drawText(t, fmt.Sprintf(buttoned, "", "neck", "", "slit F to L")), "facing")
	e := drawText(t, fmt.Sprintf(buttoned, "", "neck, 4 round slit F to L", "", "slit F to L"))
	pc := pieceNamed(e, "facing")
	if b := outlineOf(e, pc).Bound(); math.Abs(b.Min[1]+220) > 1e-6 { // 8 + 10 + 4 down
		t.Errorf("the facing reaches to %v", b.Min)
	}
	line := outlineOf(e, pc)
	for _, c := range []struct {
		q  orb.Point
		in bool
	}{{orb.Point{39, -219}, true}, {orb.Point{41, -219}, false}, {orb.Point{39, -150}, true}, {orb.Point{41, -150}, false}, {orb.Point{39, -221}, false}} {
		if line.Contains(c.q) != c.in {
			t.Errorf("%v inside: %v, want %v", c.q, !c.in, c.in)
		}
	}
	if got := math.Abs(line.SignedArea()) - math.Abs(outlineOf(e, plain).SignedArea()); got < 40*80 || got > 40*100 {
		t.Errorf("the tongue adds %v sq mm; below the strip of 50 it is 40 wide and 90 to 94 long", got)
	}
	if len(marksNamed(pc.Marks, "slit")) != 1 {
		t.Error("the slit is not marked on its facing")
	}
}

// What is amiss with closures is answered with what mends it.
func TestClosuresRefused(t *testing.T) {
	for said, want := range map[string]string{
		"buttonholes 5, from B1 to B5":                           "how long the buttonholes are",
		"buttonholes 5, 1.6 long":                                "say from P to Q",
		"buttonholes 2, from B1 to B5, one at X, 1.6 long":       "say 3 or more",
		"buttonholes 5, from B1 to B5, one at W, 1.6 long":       "does not lie between the first and the last",
		"buttons 5, from B1 to B5, 1.6 long":                     "is not said of buttons",
		"buttonholes 3, from B1 to B5, cut, 1.6 long":            "in the side of the buttons too",
		"buttonholes 0, from B1 to B5":                           "a whole number",
		"buttonholes 5, from B1 to B5, one at B1, 1.6 long":      "it is the first or the last already",
		"ties 1, from L to L":                                    "say tie at L for one",
		"buttonhole at L, 1.6 long":                              "say where it begins and where it ends: buttonhole P to Q",
		"buttonholes 3, from B1 to B5, 1.6 long, buttons on bak": "is no piece of this draft",
	} {
		_, err := draw([]byte(fmt.Sprintf(buttoned, "", "neck", "", said)), "x.yaml", Options{})
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s is answered with %v\nwant %s", said, err, want)
		}
	}
	_, err := draw([]byte(strings.Replace(fmt.Sprintf(buttoned, "", "neck", "", "slit F to L"), "outline: neck,", "outline: neck extended 2,", 1)), "x.yaml", Options{})
	if err == nil || !strings.Contains(err.Error(), "is no straight edge off the fold") {
		t.Error(err)
	}
}

// Buttonholes along a level line are level where nothing is said, so they lie along it: a note says so, and none where
// the draft says which way they lie or the line runs down the piece.
func TestButtonholesAlongTheirLineAreNoted(t *testing.T) {
	for said, want := range map[string]bool{
		"buttonholes 3, from H to W, evenly, 1.6 long": true, "buttonholes 3, from H to W, evenly, level, 1.6 long": false,
		"buttonholes 3, from H to W, evenly, plumb, 1.6 long": false, "buttonholes 3, from B1 to B5, evenly, 1.6 long": false,
	} {
		p, err := Read([]byte(fmt.Sprintf(buttoned, " extended 2", "upper end of centre + neck", "", said)), "x.yaml", Options{})
		if err != nil {
			t.Fatal(err)
		}
		noted := false
		for _, f := range p.Findings {
			noted = noted || f.Severity == pattern.Note && strings.Contains(f.Message, "they lie along it")
		}
		if noted != want {
			t.Errorf("%s: noted %v, want %v", said, noted, want)
		}
	}
}
