package check_test

import (
	"math"
	"strings"
	"testing"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// A slit on the fold is one slit of the whole piece, and is drawn once: it begins on the cut line, past the end of the fold.
func TestSlitOnTheFoldIsDrawnOnce(t *testing.T) {
	source := strings.NewReplacer("drop: 4", "drop: 4\n  opening: 6", "  neck: line", "  W: from N down 6\n  neck: line", "cut 2, a pair", "cut 1 on the fold", "side, hem, centre", "side, hem, centre on the fold").Replace(sleeveless) +
		"marks:\n  fore:\n    - slit N to W\n"
	pt := readSided(t, source, "  left drop: 6\n")
	if len(pt.Pieces) != 1 || pt.Pieces[0].FoldLine() != nil || len(pt.Pieces[0].Marks) != 1 {
		t.Errorf("%d slits in %d pieces, want one in one that is opened out", len(pt.Pieces[0].Marks), len(pt.Pieces))
	}
}

// Cut buttonholes make the sides of a piece differ too: one of a single piece lies 1 cm lower at the left.
func TestCutButtonholeOfOneSide(t *testing.T) {
	source := strings.NewReplacer("drop: 4", "drop: 4\n  opening: 6", "  neck: line", "  V: from F back 9, up opening\n  W: from V up 20\n  neck: line", "cut 2, a pair", "cut 1").Replace(sleeveless) +
		"marks:\n  fore:\n    - 'buttonholes: 3, from V to W, level, cut, 2 long'\ncloth:\n  main: 140 wide, does not fray\n"
	pt := readSided(t, source, "  left opening: 7\n")
	if len(pt.Pieces[0].Cutouts) != 3 || told(pt, pattern.Error, "1 cm apart") != 1 {
		t.Error("a piece that serves both sides, with its buttonhole at two heights, is let pass")
	}
}

// An allowance that goes by a number of one side is that side's.
func TestAllowanceOfOneSide(t *testing.T) {
	pt := readSided(t, strings.NewReplacer("drop: 4", "drop: 4\n  turning: 3", "allow: 1", "allow: {all: 1, hem: turning}").Replace(sleeveless), "  left turning: 5\n")
	wide := map[string]float64{}
	for _, p := range pt.Pieces {
		for _, e := range p.Edges {
			if e.Name == "hem" && e.Allowance != nil {
				wide[p.Name] = e.Allowance.From
			}
		}
	}
	if len(wide) != 2 || wide["right fore"] != 30 || wide["left fore"] != 50 {
		t.Errorf("the hems are %v wide, want 30 mm at the right and 50 at the left", wide)
	}
}

// Of a piece that is cut 4 times, two of each hand, either side has one of each: outside and lining, or front and back. Said to be
// alike, they stay alike.
func TestFourPiecesAreAPairForEachSide(t *testing.T) {
	for said, pair := range map[string]bool{"cut 4": true, "cut 4, a pair": true, "cut 4, alike": false} {
		pt := readSided(t, strings.Replace(sleeveless, "cut 2, a pair", said, 1), "  left drop: 6\n")
		for _, p := range pt.Pieces {
			if p.Quantity != 2 || p.Pair != pair || p.Alike == pair {
				t.Errorf("%s: %s is cut %d, pair %v, alike %v", said, p.Name, p.Quantity, p.Pair, p.Alike)
			}
		}
		if len(pt.Pieces) != 2 {
			t.Errorf("%s: %d pieces", said, len(pt.Pieces))
		}
	}
}

// What is told of the other half of a piece that is opened out lies on that piece, also where its fold is not drawn through 0.
func TestCornersOfAHalfLieOnThePiece(t *testing.T) {
	source := strings.NewReplacer("N: from O down 8", "N: from O out 5, down 8", "E: from O down 60\n  F: from E out 22", "E: from O out 5, down 60\n  F: from E out 17",
		"cut 2, a pair", "cut 1 on the fold", "side, hem, centre", "side, hem, centre on the fold").Replace(sleeveless)
	pt := readSided(t, source+"sewn:\n  - fore shoulder = fore shoulder\n", "  left drop: 6\n")
	if len(pt.Pieces) != 1 || pt.Pieces[0].FoldLine() != nil {
		t.Fatalf("%d pieces, want one that is opened out", len(pt.Pieces))
	}
	left := 0
	for _, c := range pt.Corners {
		if d := pt.Pieces[c.Index].EdgeLine().Nearest(c.At).Dist; d > 0.1 {
			t.Errorf("%s lies %.1f mm off the piece", c.What, d)
		}
		if strings.HasSuffix(c.What, ", left") {
			left++
		}
	}
	if left == 0 {
		t.Error("no corner of the left half")
	}
}

// A draft whose style, or whose longer names, hold the name of a measure of one side does not draw the sides apart by itself.
func TestNameOfOneSideElsewhere(t *testing.T) {
	for _, change := range [][]string{
		{"style: Vest", "style: Vest with its left drop lower"},
		{"style: Vest", "style: Vest\nnote: look at the left drop"},
		{"drop: 4", "drop: 4\n  left drop depth: 3", "F: from E out 22", "F: from E out 22, up left drop depth"},
	} {
		pt := readSided(t, strings.NewReplacer(change...).Replace(sleeveless), "  left drop: 6\n")
		if len(pt.Pieces) != 2 {
			t.Errorf("%q: %d piece, want one for each side", change[1], len(pt.Pieces))
		}
	}
	// It does where it is said by itself.
	pt := readSided(t, strings.NewReplacer("drop: 4", "drop: 4\n  slant: 3 + left drop").Replace(sleeveless), "  left drop: 6\n")
	if len(pt.Pieces) != 1 {
		t.Errorf("%d pieces of a draft that names the left drop itself, want 1", len(pt.Pieces))
	}
}

// A strip half-way between those for either side has its notch half-way too, and says of none that it lies elsewhere: 2 and the drop
// from the start are 6 and 8.
func TestNotchOfAStripForBothSides(t *testing.T) {
	source := strings.Replace(sleeveless, "pieces:\n", "pieces:\n  band: strip 4 wide, 20 + drop long; cut 1\n", 1) + "notches:\n  band long edge: one, 2 + drop from the start\n"
	pt := readSided(t, source, "  left drop: 6\n")
	band := pt.Pieces[0]
	if len(band.Notches) != 1 {
		t.Fatalf("%d notches", len(band.Notches))
	}
	n := band.Notches[0]
	if d := geom.Dist(n.At, band.Sew[0].Points[0]); math.Abs(d-70) > 0.01 {
		t.Errorf("the notch is %.2f mm from the start, want 70", d)
	}
	if n.Along != nil {
		t.Errorf("it is said to be %s, %.1f mm along", n.Along.Words, n.Along.Worn)
	}
}
