package measured

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/sewn"
)

// runOf draws a piece out wide and 60 long with a run of pleats from A to B of its top.
func runOf(wide, sentence, more string) string {
	return `style: S
unit: cm
draft skirt:
  A: start
  B: from A out ` + wide + `
  C: from B down 60
  D: from A down 60
  top: line A to B
  side: line B to C
  hem: line C to D
  centre: line D to A
` + more + `  pleats: ` + sentence + `
  outline: top, side, hem, centre
pieces:
  skirt: skirt; cut 1
allow: 1
`
}

// What pleats hide is twice their depth, of a box twice as much again: cloth = finished + 2 x depth x number, a box
// or inverted box counting two; touching knife pleats take three times the finished length. N. I. M. I.'s and Hapgood's
// rules as they stand in facts of the trade (common practice); worked out by hand here.
func TestRunsOfPleats(t *testing.T) {
	for _, c := range []struct {
		wide, said   string
		cut, worn    float64
		folds        int
		first, depth float64 // of the first outer fold from A on the cut piece
	}{
		// Drawn flat: 210 of cloth to 74 by 18 knife pleats: each takes 136/18, half of it deep.
		{"210", "18 knife pleats facing out, evenly from A to B, top to hem, to 74 finished", 210, 74, 36, 0, 136. / 36},
		{"210", "18 knife pleats facing out, evenly from A to B, to 74 finished", 210, 74, 36, 0, 136. / 36},
		{"210", "10 box pleats, evenly from A to B, top to hem, to 80 finished", 210, 80, 40, 0, 130. / 40},
		{"210", "10 inverted box pleats, evenly from B to A, top to hem, to 80 finished", 210, 80, 40, 0, 130. / 40},
		{"200", "9 knife pleats facing back, evenly from A to B, top to hem, to 90 finished", 200, 90, 18, 0, 110. / 18},
		// Drawn as worn.
		{"74", "18 knife pleats facing out, 2 deep, evenly from A to B, top to hem", 146, 74, 36, 0, 2},
		{"74", "18 knife pleats facing out, 2 deep, evenly from A to B, top to hem, to 74 finished", 146, 74, 36, 0, 2},
		{"60", "5 box pleats, 2 deep, 8 wide, evenly from A to B, top to hem", 100, 60, 20, 0, 2},
		{"60", "5 tucks, 1/2 deep, evenly from A to B, top to hem", 65, 60, 10, 0, .5},
	} {
		e := drawText(t, runOf(c.wide, c.said, ""))
		pc := pieceNamed(e, "skirt")
		i := pc.Edge("top")
		if got := pc.Edges[i].Curve.Length(); math.Abs(got-c.cut) > 1e-6 {
			t.Errorf("%s: the top is cut %v, want %v", c.said, got, c.cut)
		}
		if got := pc.WornLength(i); math.Abs(got-c.worn) > 1e-6 {
			t.Errorf("%s: the top is sewn %v, want %v", c.said, got, c.worn)
		}
		// What a check walks in a seam is the edge as worn, of a piece that is drawn flat too.
		if got := figures.Pattern(e).Pieces[0].Edges[i].Worn.Length() / 10; math.Abs(got-c.worn) > 1e-6 {
			t.Errorf("%s: the top travels on as %v worn, want %v", c.said, got, c.worn)
		}
		if len(pc.Open.Turns) != c.folds {
			t.Errorf("%s: %d folds, want %d", c.said, len(pc.Open.Turns), c.folds)
		}
		if d := foldedOnto(e, pc, pc.Worn); d > 0.01 {
			t.Errorf("%s: a vertex folds back %.4f mm off", c.said, d)
		}
		if b := outlineOf(e, pc).Bound(); math.Abs(b.Min[0]) > 1e-6 {
			t.Errorf("%s: the piece begins at %v", c.said, b.Min)
		}
		for k := 0; k+1 < len(pc.Open.Turns); k += 2 {
			a, b := pc.Open.Turns[k].FlatA, pc.Open.Turns[k+1].FlatA
			if got := math.Abs(a[0] - b[0]); math.Abs(got-c.depth) > 1e-6 {
				t.Errorf("%s: folds %v apart, want %v", c.said, got, c.depth)
			}
		}
	}
}

// Pleats of random number, kind and size, told flat: the cloth is as wide as drawn and sewn as long as said.
func TestRandomRunsDrawnFlat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom([]string{"knife pleats facing out", "knife pleats facing back", "box pleats", "inverted box pleats"}).Draw(t, "kind")
		n := rapid.IntRange(1, 30).Draw(t, "how many")
		cloth := rapid.Float64Range(60, 400).Draw(t, "cloth")
		to := cloth / rapid.Float64Range(1.05, 2.95).Draw(t, "fullness")
		e := drawText(t, runOf(fmt.Sprintf("%.4f", cloth), fmt.Sprintf("%d %s, evenly from A to B, top to hem, to %.4f finished", n, kind, to), ""))
		pc := pieceNamed(e, "skirt")
		i := pc.Edge("top")
		if got := pc.WornLength(i); math.Abs(got-to) > 1e-3 {
			t.Fatalf("sewn %v, want %v", got, to)
		}
		if got := pc.Edges[i].Curve.Length(); math.Abs(got-cloth) > 1e-3 {
			t.Fatalf("cut %v, want %v", got, cloth)
		}
		if d := foldedOnto(e, pc, pc.Worn); d > 0.01 {
			t.Fatalf("a vertex folds back %.4f mm off", d)
		}
	})
}

// Along a curved waist the depth is measured along it: the cut edge is longer by twice the depth of each pleat, which
// square to the fold it is not. The folds fan out to the hem.
func TestDepthAlongCurvedEdge(t *testing.T) {
	const draft = `style: S
unit: cm
draft skirt:
  A: start
  B: from A out 40, down 6
  C: from B down 60, out 14
  D: from A down 60
  top: curve A to B, leaving level, arriving square to B C
  side: line B to C
  hem: curve C to D, leaving square to B C, arriving level
  centre: line D to A
  pleats: 6 knife pleats facing back, 1 deep %s, evenly from A to B and from D to C, top to hem
  outline: top, side, hem, centre
pieces:
  skirt: skirt; cut 1
allow: 1
`
	e := drawText(t, fmt.Sprintf(draft, "along the edge"))
	pc := pieceNamed(e, "skirt")
	for _, name := range []string{"top", "hem"} {
		i := pc.Edge(name)
		if got := pc.Edges[i].Curve.Length() - pc.WornLength(i); math.Abs(got-12) > 1e-4 {
			t.Errorf("%s: the pleats take %v, want 12", name, got)
		}
	}
	if d := foldedOnto(e, pc, pc.Worn); d > 0.01 {
		t.Errorf("a vertex folds back %.4f mm off", d)
	}
	// The outer folds divide the waist evenly: 5 spaces of a sixth, whatever lies hidden between.
	i := pc.Edge("top")
	space := pc.WornLength(i) / 6
	var outer []float64
	for k, s := range pc.Open.Turns {
		if k%2 == 0 {
			outer = append(outer, s.FlatA[0])
		}
	}
	if len(outer) != 6 || space <= 0 {
		t.Fatalf("%d outer folds", len(outer))
	}
	e = drawText(t, fmt.Sprintf(draft, ""))
	pc = pieceNamed(e, "skirt")
	if got := pc.Edges[i].Curve.Length() - pc.WornLength(i); math.Abs(got-12) < 1e-3 {
		t.Error("square to the fold the pleats take the same as along the edge: the test tells them not apart")
	}
}

// A run that cannot be made is answered with what mends it.
func TestRunsRefused(t *testing.T) {
	for _, c := range [][3]string{
		{"50", "18 knife pleats facing out, 3 deep, evenly from A to B, top to hem", "room for 2.7"},
		{"210", "18 knife pleats facing out, evenly from A to B, top to hem", "say 2 deep, of a piece that is drawn as worn; or to 74 finished"},
		{"210", "18 knife pleats facing out, top to hem, to 74 finished", "say evenly from A to B"},
		{"70", "18 knife pleats facing out, evenly from A to B, top to hem, to 74 finished", "draw the piece wider"},
		{"70", "18 knife pleats facing out, 1 deep, evenly from A to B, top to hem, to 74 finished", "the run is 70 long as drawn, and 74 finished is said"},
		{"70", "0 knife pleats facing out, 1 deep, evenly from A to B, top to hem", "a whole number"},
		{"70", "5 knife pleats facing out, 1 deep, evenly from A to C, top to hem", "does not lie on the edge"},
		{"70", "5 knife pleats facing out, 1 deep, 6 wide, evenly from A to B, top to hem", "of box pleats only"},
	} {
		_, err := draw([]byte(runOf(c[0], c[1], "")), "x.yaml", Options{})
		if err == nil || !strings.Contains(err.Error(), c[2]) {
			t.Errorf("%s is answered with %v\nwant %s", c[1], err, c[2])
		}
	}
}

// outlineOf is a piece's outline as cut, in mm.
func outlineOf(e *sewn.Sewing, pc *pieces.Piece) geom.Path {
	line, _ := e.Flatten(pc.Edges)
	return line
}
