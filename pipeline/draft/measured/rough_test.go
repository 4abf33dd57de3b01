package measured

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/config/samples"
	"tracewheel/geom"
)

func withBlock(file, piece, sentence string) string {
	s := string(samples.Read(file))
	return strings.Replace(s, "\npieces:\n", "\npieces:\n  "+piece+": "+sentence+"\n", 1)
}

// A rough block, pleated on its lines, covers the closed shape with what was asked to spare: every
// place of the worn outline, and what lies so far off it above and below, is on the block once its
// layers are folded. The block is as wide as the shape and twice the depth of each layer pair (a
// vocational textbook's pleat rule, pp. 186-188: 2 x depth x number + pleated section).
func TestRoughBlock(t *testing.T) {
	e := drawText(t, withBlock("ferry-smock.yaml", "block", "rough block of front, 5 to spare; cut 1 on the fold"))
	block, front := pieceNamed(e, "block"), pieceNamed(e, "front")
	width := block.Edges[0].Curve.Length()
	worn := 0.0
	for _, ed := range front.Worn {
		for _, s := range ed.Curve {
			worn = max(worn, s.To[0])
		}
	}
	if want := worn + 2*4 + 5; math.Abs(width-want) > 1e-6 {
		t.Errorf("the block is %v wide, want %v", width, want)
	}
	if !block.Edges[3].Fold || !block.Included || len(block.Marks) != len(front.Open.Lines) || len(block.Notches) != 2*len(block.Marks) {
		t.Errorf("the block bears %d lines and %d nicks", len(block.Marks), len(block.Notches))
	}
	for i, m := range block.Marks { // the lines are those of the pleats, drawn on
		l := front.Open.Lines[i]
		for _, q := range []orb.Point{l.From, l.To} {
			if d := math.Abs(geom.Cross(geom.Unit(geom.Sub(m.To, m.From)), geom.Sub(q, m.From))); d > 1e-9 {
				t.Errorf("line %d lies %v off", i, d)
			}
		}
		if m.From[1] != block.Edges[0].Curve.Start()[1] && m.To[1] != block.Edges[0].Curve.Start()[1] {
			t.Errorf("line %d does not reach the top", i)
		}
	}
	line, _ := e.Flatten(block.Edges)
	cut, _ := e.Flatten(front.Edges)
	for _, q := range cut.Points {
		for _, off := range []orb.Point{{0, 0}, {0, 49.9}, {0, -49.9}} {
			if !line.Contains(geom.Add(q, off)) {
				t.Fatalf("%v lies off the block", q)
			}
		}
	}
}

func TestRoughBlockRefused(t *testing.T) {
	for sentence, want := range map[string]string{
		"rough block of frnt, 5 to spare; cut 1":   `did you mean "front"?`,
		"rough block of back, 5 to spare; cut 1":   "has no pleats",
		"rough block of front, -1 to spare; cut 1": "0 or more",
		"rough block of front; cut 1":              "a number is wanted here",
		"rough block of front, 5 to spare; cut 1":  "say cut 1 on the fold",
	} {
		_, err := draw([]byte(withBlock("ferry-smock.yaml", "block", sentence)), "x.yaml", Options{})
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: want %q, got %v", sentence, want, err)
		}
	}
}
