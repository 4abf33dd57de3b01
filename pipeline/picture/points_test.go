package picture

import (
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/config/samples"
	"tracewheel/geom/letters"
	"tracewheel/pipeline/draft/measured"
)

// TestLettersOfPointsStandFree: in the ordinary picture of each starter no letter of a point overlaps another or a
// caption, or crosses the edge, at the scale of the desk and the lessons; most points have their letter. The boxes are
// those of the drawn strokes, not those of the search for a place.
func TestLettersOfPointsStandFree(t *testing.T) {
	seen, points := 0, 0
	for _, file := range []string{"bodice-block.yaml", "ferry-smock.yaml", "gore-cloak.yaml", "lamplighter-jacket.yaml", "princess-tunic.yaml", "set-in-sleeve.yaml", "stand-collar.yaml", "trousers.yaml", "yoke-shirt.yaml"} {
		p, err := measured.Read(samples.Read(file), file, measured.Options{})
		if err != nil {
			t.Fatal(err)
		}
		lettered := map[string]bool{}
		for i := range p.Pieces {
			points += len(p.Pieces[i].Points)
			for _, l := range p.Pieces[i].Points {
				lettered[l.Text] = true
			}
		}
		c := Pattern(p, nil, Options{Points: true})
		var boxes []orb.Bound
		for _, w := range c.captions {
			strokes, _ := letters.Strokes(w.words, w.height)
			var ink orb.MultiPoint
			for _, s := range strokes {
				for _, q := range s.Points {
					ink = append(ink, orb.Point{w.at[0] + q[0], w.at[1] - q[1]})
				}
			}
			b := ink.Bound()
			if b.Min[0] < 0 || b.Min[1] < 0 || b.Max[0] > c.Width || b.Max[1] > c.Height {
				t.Errorf("%s: %q stands beyond the picture", file, w.words)
			}
			for k, o := range boxes {
				if b.Min[0] < o.Max[0] && o.Min[0] < b.Max[0] && b.Min[1] < o.Max[1] && o.Min[1] < b.Max[1] {
					t.Errorf("%s: %q stands on %q", file, w.words, c.captions[k].words)
				}
			}
			boxes = append(boxes, b)
			if lettered[w.words] {
				seen++
			}
		}
	}
	t.Logf("%d letters of %d points", seen, points)
	if seen*10 < points*8 {
		t.Errorf("%d letters of %d points", seen, points)
	}
}
