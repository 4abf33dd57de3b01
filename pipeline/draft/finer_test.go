package draft_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"tracewheel/pipeline/draft"
	"tracewheel/pipeline/pattern"
)

// circleDraft is an interchange draft: a disc of radius 100 as 24 chords on layer 1, its finer curve
// of 720 on layer 84, and a notch on the middle of a chord.
func circleDraft() []byte {
	var b strings.Builder
	w := func(parts ...any) {
		for _, p := range parts {
			fmt.Fprintln(&b, p)
		}
	}
	w(0, "SECTION", 2, "BLOCKS", 0, "BLOCK", 2, "A", 10, 0, 20, 0, 0, "TEXT", 8, 1, 1, "PIECE NAME: CROWN", 10, 0, 20, 0)
	ring(w, 1, 24)
	ring(w, 84, 720)
	r := 100 * math.Cos(math.Pi/24)
	w(0, "POINT", 8, 4, 10, r*math.Cos(math.Pi/24), 20, r*math.Sin(math.Pi/24), 39, 4)
	w(0, "ENDBLK", 0, "ENDSEC", 0, "SECTION", 2, "ENTITIES", 0, "TEXT", 8, 1, 1, "UNITS: METRIC", 10, 0, 20, 0)
	w(0, "INSERT", 8, 1, 2, "A", 10, 0, 20, 0, 0, "ENDSEC", 0, "EOF")
	return []byte(b.String())
}

func ring(w func(...any), layer, n int) {
	w(0, "POLYLINE", 8, layer, 66, 1, 70, 1)
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		w(0, "VERTEX", 8, layer, 10, 100*c, 20, 100*s)
	}
	w(0, "SEQEND")
}

// TestFinerCurves: the area of a regular n-gon in a circle is n/2 r^2 sin(2 pi/n).
func TestFinerCurves(t *testing.T) {
	area := func(n float64) float64 { return n / 2 * 100 * 100 * math.Sin(2*math.Pi/n) }
	for _, finer := range []bool{false, true} {
		p, err := draft.Read(circleDraft(), "crown.dxf", draft.Options{FinerCurves: finer})
		if err != nil || len(p.Pieces) != 1 {
			t.Fatal(p, err)
		}
		want := area(24)
		if finer {
			want = area(720)
		}
		piece := p.Pieces[0]
		if got := piece.Cut.Area(); math.Abs(got-want) > 1e-6*want {
			t.Errorf("finer %v: %.3f mm2, wanted %.3f", finer, got, want)
		}
		// The notch follows: it stands on a chord's middle, 0.86 mm inside the circle.
		if d := piece.Cut.Nearest(piece.Notches[0].At).Dist; d > 0.01 {
			t.Errorf("finer %v: the notch lies %.3f mm off the line", finer, d)
		}
		said := 0
		for _, f := range p.Findings {
			if f.Rule == pattern.RuleQualityDiffers {
				said++
				if strings.Contains(f.Message, "is used, up to") != finer {
					t.Errorf("finer %v: %s", finer, f.Message)
				}
			}
		}
		if said != 1 {
			t.Errorf("finer %v: told %d times", finer, said)
		}
	}
}
