package measured

import (
	"fmt"
	"math"
	"sort"
	"testing"
)

// A box pleat has two outer folds and two placement lines, an inverted one a single placement line that
// both folds meet over (National Instructional Media Institute, CITS Dress Making, Trade Practical vol. 2, p. 187); a knife pleat's
// outer fold comes to a line twice its depth away. Positions follow by arithmetic from the cloth laid flat.
func TestPlacementLines(t *testing.T) {
	for _, c := range []struct {
		pleat            string
		outer, placement []float64
	}{
		{"knife facing out, 4 deep", []float64{10}, []float64{18}},
		{"knife facing back, 4 deep", []float64{18}, []float64{10}},
		{"box, 3 deep, 8 wide", []float64{12, 20}, []float64{6, 26}},
		{"inverted box, 3 deep", []float64{10, 22}, []float64{16}},
	} {
		e := drawText(t, fmt.Sprintf(`style: S
unit: cm
draft p:
  O: start
  W: from O out 30
  H: from W down 40
  Z: from O down 40
  P: from O out 10
  top: line O to W
  side: line W to H
  hem: line H to Z
  centre: line Z to O
  pleat: %s, on plumb through P, top to hem
  outline: top, side, hem, centre
pieces:
  p: p; cut 1
allow: 1
`, c.pleat))
		got := map[string][]float64{}
		for _, l := range pieceNamed(e, "p").Open.Lines {
			if math.Abs(l.From[0]-l.To[0]) > 1e-9 || math.Abs(math.Abs(l.From[1]-l.To[1])-40) > 1e-9 {
				t.Errorf("%s: the %s runs from %v to %v", c.pleat, l.Name, l.From, l.To)
			}
			got[l.Name] = append(got[l.Name], l.From[0])
		}
		for name, want := range map[string][]float64{"outer fold": c.outer, "placement": c.placement} {
			sort.Float64s(got[name])
			if len(got[name]) != len(want) {
				t.Errorf("%s: %s at %v, want %v", c.pleat, name, got[name], want)
				continue
			}
			for i := range want {
				if math.Abs(got[name][i]-want[i]) > 1e-9 {
					t.Errorf("%s: %s at %v, want %v", c.pleat, name, got[name], want)
				}
			}
		}
	}
}
