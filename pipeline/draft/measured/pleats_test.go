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

// drawText draws a draft that stands in a test.
func drawText(t interface {
	Helper()
	Fatalf(string, ...any)
}, text string) *sewn.Sewing {
	t.Helper()
	e, err := draw([]byte(text), "x.yaml", Options{})
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	return e
}

// foldedBack folds a piece as cloth is folded: whatever lies beyond a fold line is turned over, the
// last fold first. It knows only the flat piece and its fold lines, and gives how far the vertex
// that is worst off lies from the outline before the pleats were opened, in mm.
func foldedBack(e *sewn.Sewing, pc *pieces.Piece) float64 { return foldedOnto(e, pc, pc.Form.Edges) }

// foldedOnto does so for the edges as worn that are given.
func foldedOnto(e *sewn.Sewing, pc *pieces.Piece, edges []curve.Edge) float64 {
	flat, _ := e.Flatten(pc.Edges)
	worn, _ := e.Flatten(edges)
	var worst float64
	for _, q := range flat.Points {
		for o := pc.Open; o != nil; o = o.Before { // the set that was opened last is folded first
			ahead := e.ToMM(o.Ahead)
			beyond := false
			for k := len(o.Turns) - 1; k >= 0; k-- {
				a, b := e.ToMM(o.Turns[k].FlatA), e.ToMM(o.Turns[k].FlatB)
				u := geom.Sub(b, a)
				side := geom.Cross(u, geom.Sub(q, a))
				if geom.Cross(u, ahead) < 0 {
					side = -side
				}
				if beyond = beyond || side > 1e-9; beyond {
					q = geom.MirrorLine(a, b).Apply(q)
				}
			}
		}
		worst = max(worst, worn.Nearest(q).Dist)
	}
	return worst
}

// Random pleats of every kind, parallel and tapered, on a piece with sloping or curved edges, fold
// back onto the worn shape within 0.01 mm at every vertex.
func TestRandomPleatsFoldBack(t *testing.T) {
	kinds := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		onFold := rapid.Bool().Draw(t, "on the fold")
		var b strings.Builder
		fmt.Fprintf(&b, "style: S\nunit: cm\ndraft front:\n  A: start\n  B: from A out 60, down %.2f\n", rapid.Float64Range(-6, 6).Draw(t, "slope"))
		fmt.Fprintf(&b, "  C: from A out %.2f, down %.2f\n  D: from A down 50\n", rapid.Float64Range(58, 70).Draw(t, "hem out"), rapid.Float64Range(45, 60).Draw(t, "hem down"))
		for _, e := range [][3]string{{"neck", "A", "B"}, {"hem", "D", "C"}} {
			if rapid.Bool().Draw(t, e[0]+" curved") {
				fmt.Fprintf(&b, "  %s: curve %s to %s, leaving level, arriving level\n", e[0], e[1], e[2])
			} else {
				fmt.Fprintf(&b, "  %s: line %s to %s\n", e[0], e[1], e[2])
			}
		}
		b.WriteString("  side: line B to C\n  centre: line A to D\n")
		n := rapid.IntRange(1, 3).Draw(t, "pleats")
		for k := range n {
			kind := rapid.SampledFrom([]string{"knife", "knife facing out", "box", "inverted box", "tuck"}).Draw(t, "kind")
			on := fmt.Sprintf("on plumb through M%d", k)
			if k == 0 && onFold {
				kind, on = "inverted box", "on the fold"
			}
			depth := fmt.Sprintf("%.3f deep", rapid.Float64Range(0.3, 4).Draw(t, "depth"))
			if rapid.Bool().Draw(t, "tapered") && on != "on the fold" {
				depth += fmt.Sprintf(" at the first edge, %.3f deep at the second edge", rapid.Float64Range(0, 4).Draw(t, "second depth"))
				kinds["tapered"]++
			}
			if kind == "box" {
				depth += fmt.Sprintf(", %.2f wide", rapid.Float64Range(1, 8).Draw(t, "wide"))
			}
			fmt.Fprintf(&b, "  M%d: from A out %.2f\n  pleat %d: %s, %s, %s, neck to hem, overlapping\n", k, 12+float64(k)*18+rapid.Float64Range(-2, 2).Draw(t, "at"), k, kind, depth, on)
			kinds[kind]++
		}
		b.WriteString("  outline: neck, side, hem, centre")
		cut := "cut 1"
		if onFold {
			b.WriteString(" on the fold")
			cut += " on the fold"
		}
		fmt.Fprintf(&b, "\npieces:\n  front: front; %s\nallow:\n  all: 1\n", cut)
		e := drawText(t, b.String())
		pc := pieceNamed(e, "front")
		if len(pc.Open.Turns) < 2*n || curve.Area(pc.Edges) <= curve.Area(pc.Worn) {
			t.Fatalf("nothing was opened:\n%s", b.String())
		}
		if d := foldedBack(e, pc); d > 0.01 {
			t.Fatalf("a vertex folds back %.4f mm off:\n%s", d, b.String())
		}
		if line, _ := e.Flatten(pc.Edges); len(line.SelfCrossings(1)) > 0 {
			t.Fatalf("the opened piece crosses itself:\n%s", b.String())
		}
	})
	t.Log(kinds)
	for _, k := range []string{"knife", "knife facing out", "box", "inverted box", "tuck", "tapered"} {
		if kinds[k] == 0 {
			t.Errorf("no %s pleat was tried", k)
		}
	}
}

// The starter drafts' own pleats, for both bodies.
func TestStarterPleatsFoldBack(t *testing.T) {
	for _, c := range []struct{ file, body, name string }{{"ferry-smock.yaml", "A", "front"}, {"ferry-smock.yaml", "B", "front"}, {"tool-roll.yaml", "T1", "pocket strip"}, {"tool-roll.yaml", "T2", "pocket strip"}} {
		e := drawn(t, c.file, c.body)
		if d := foldedBack(e, pieceNamed(e, c.name)); d > 0.01 {
			t.Errorf("%s %s: a vertex folds back %.4f mm off", c.file, c.body, d)
		}
	}
}

// The end of the stitching is marked 3 mm inside it, measured from the edge where it begins, also where a dart
// that is moved away leaves the outline fewer edges.
func TestStitchedBesideMovedDart(t *testing.T) {
	for _, move := range []string{"", ", moved to side at K"} {
		e := drawText(t, twoDarts(3, 0.5, "  Y: from Wc up 9\n  dart s: M to X to M2"+move+"\n  pleat: inverted box, 2 deep, on the fold, neck to inner waist, stitched inner waist to Y"))
		marked := false
		for _, q := range pieceNamed(e, "front").Drills {
			marked = marked || math.Abs(q[1]-34.3) < 1e-6
		}
		if !marked {
			t.Errorf("dart s%s: nothing is marked 3 mm below Y, at 34.3 down: %v", move, pieceNamed(e, "front").Drills)
		}
	}
}
