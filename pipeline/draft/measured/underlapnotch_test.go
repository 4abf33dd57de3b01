package measured

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"tracewheel/pipeline/pattern"
)

// A half of 15 on the fold goes twice into 30 of a band that is 33 long: its notches stand 10, 15 and 20 from where the sewn
// part begins, the middle one once, and none in the underlap. The lengths are added by hand.
func TestNotchesBesideAnUnderlap(t *testing.T) {
	const text = `style: S
unit: cm
draft skirt:
  A: start
  B: from A out 15
  C: from B down 40
  D: from A down 40
  top: line A to B
  side: line B to C
  hem: line C to D
  centre: line D to A
  outline: top, side, hem, centre on the fold
draft shaped band:
  A: start
  B: from A out 33
  C: from B down 4
  D: from A down 4
  upper: line A to B
  end: line B to C
  lower: line C to D
  far end: line D to A
  outline: upper, end, lower, far end
pieces:
  skirt: skirt; cut 1 on the fold
  shaped: shaped band; cut 1
  lapped: strip 4 wide, 30 long, underlap 3; cut 1
  plain: strip 4 wide, 30 long; cut 1
allow: 1
notches:
  %s
sewn:
  - twice skirt top = %s
`
	for seam, at := range map[string]func(from float64) float64{
		"plain long edge":                     func(v float64) float64 { return v },
		"lapped long edge":                    func(v float64) float64 { return v },
		"lapped far edge":                     func(v float64) float64 { return 30 - v },
		"shaped lower, underlap 3 at end":     func(v float64) float64 { return 30 - v },
		"shaped lower, underlap 3 at far end": func(v float64) float64 { return 33 - v },
	} {
		name, _, _ := strings.Cut(seam, " ")
		want := []float64{10, 15, 20}
		var got []float64
		e := drawText(t, fmt.Sprintf(text, "skirt top: one, at A; one, 5 from A", seam))
		for _, f := range seamFindings(e) {
			if f.Rule == pattern.RuleNotchNoPartner || f.Rule == pattern.RuleNotchesCrowded {
				t.Errorf("%s: %s", seam, f.Message)
			}
		}
		for _, n := range pieceNamed(e, name).Notches {
			got = append(got, at(n.At[0]))
		}
		slices.Sort(got)
		if len(got) != 3 || math.Abs(got[0]-want[0])+math.Abs(got[1]-want[1])+math.Abs(got[2]-want[2]) > 1e-6 {
			t.Errorf("%s: %v from where the sewn part begins, want %v", seam, got, want)
		}
	}
	for band, want := range map[string][]float64{ // and from the band onto the half: 5 from the fold, 3 in the underlap is for itself
		"lapped long edge: one, 10 from the start; one, 20 from the start; one, 32 from the start": {5},
		"lapped far edge: one, 13 from the start; one, 23 from the start":                          {5},
	} {
		edge, _, _ := strings.Cut(band, ":")
		var got []float64
		for _, n := range pieceNamed(drawText(t, fmt.Sprintf(text, band, edge)), "skirt").Notches {
			got = append(got, n.At[0])
		}
		if len(got) != len(want) || math.Abs(got[0]-want[0]) > 1e-6 {
			t.Errorf("%s: %v on the skirt, want %v", band, got, want)
		}
	}
}
