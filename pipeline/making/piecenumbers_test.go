package making

import (
	"strconv"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/geom"
	"tracewheel/pipeline/picture"
)

// TestEachPieceHasItsNumber: in the picture of what a pen draws each piece has its number once, within its own lines, also
// one that is drawn as its half or its quarter: "again JOB --pieces" takes pieces by these numbers.
func TestEachPieceHasItsNumber(t *testing.T) {
	two := strings.Replace(cape, "cut 1 on two folds", "cut 1 on two folds\n  band: rectangle 40 by 6; cut 1", 1)
	drafts := map[string][]byte{"cape.yaml": []byte(two)}
	for _, name := range []string{"half-circle-skirt.yaml", "ferry-smock.yaml", "princess-tunic.yaml"} {
		drafts[name] = samples.Read(name)
	}
	for name, source := range drafts {
		m := New(Sample())
		w := made(t, m, Request{Name: name, Source: source, Device: "roll-plotter"})
		words := picture.Numbers(w.Strokes, w.Profile.Length)
		seen := map[string]int{}
		for _, n := range words {
			seen[n.Text]++
			piece, err := strconv.Atoi(n.Text)
			if err != nil {
				t.Fatal(err)
			}
			var all geom.Path
			for _, s := range w.Strokes {
				if s.Piece == piece-1 {
					all.Points = append(all.Points, s.Path.Points...)
				}
			}
			if !all.Bound().Contains(n.At) {
				t.Errorf("%s: number %s stands at %v, its piece in %v", name, n.Text, n.At, all.Bound())
			}
			box := all.Bound()
			if narrow := min(box.Max[0]-box.Min[0], box.Max[1]-box.Min[1]); narrow > 150 && n.Height < 10 {
				t.Errorf("%s: number %s is %.1f mm high on a piece %.0f mm wide", name, n.Text, n.Height, narrow)
			}
		}
		for i := range w.Ready {
			if seen[strconv.Itoa(i+1)] != 1 {
				t.Errorf("%s: piece %d of %d has %d numbers", name, i+1, len(w.Ready), seen[strconv.Itoa(i+1)])
			}
		}
	}
}
