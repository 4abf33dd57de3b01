package lay

import (
	"fmt"
	"math"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"tracewheel/pipeline/lay/exact"
	"tracewheel/pipeline/pattern"
)

// TestSoundWhenRounded: no two pieces violate the gap by more than 0.005 mm when a plotter rounds each place to its
// unit, 0.025 mm in HP-GL.
func TestSoundWhenRounded(t *testing.T) {
	const unit = 0.025
	opt := few
	opt.Grid = unit
	nearer := 0
	rapid.Check(t, func(t *rapid.T) {
		draw := func(lo, hi float64, what string) float64 { return rapid.Float64Range(lo, hi).Draw(t, what) }
		m := pattern.Material{Width: draw(500, 900, "width"), Gap: rapid.SampledFrom([]float64{0, 0, 3.3}).Draw(t, "gap")}
		var ready []pattern.Ready
		for i := range rapid.IntRange(2, 8).Draw(t, "pieces") {
			r := rect(fmt.Sprint(i), draw(50, 250, "w"), draw(50, 250, "h"))
			r.Outline.Points[2][0] -= draw(0, 40, "slant")
			ready = append(ready, r)
		}
		l, found := OnMachine(t.Context(), ready, m, opt)
		if len(found) > 0 {
			t.Fatal(found)
		}
		if plain, _ := OnMachine(t.Context(), ready, m, few); plain.LengthUsed < l.LengthUsed {
			nearer++
		}
		var pieces []exact.Piece
		for _, p := range laid(l, ready) {
			for i, q := range p.Points {
				p.Points[i] = orb.Point{math.Round(q[0]/unit) * unit, math.Round(q[1]/unit) * unit}
			}
			pieces = append(pieces, exact.Piece{Outline: p.Points})
		}
		for _, f := range exact.Check(exact.Strip{Width: m.Width + 1, Length: l.LengthUsed + 1, Gap: m.Gap}, pieces) {
			if f.B >= 0 {
				t.Errorf("%s", f)
			}
		}
	})
	if nearer == 0 {
		t.Error("no lay needed it, so that nothing was tried")
	}
}

// TestFitsToTheUnit: pieces that fill the width exactly are laid side by side.
func TestFitsToTheUnit(t *testing.T) {
	opt := few
	opt.Grid = 0.025
	ready := []pattern.Ready{rect("a", 500, 304.8), rect("b", 500, 304.8), rect("c", 500, 304.8)}
	l, found := OnMachine(t.Context(), ready, pattern.Material{Width: 914.4, Turns: []float64{0}}, opt)
	if len(found) > 0 || math.Abs(l.LengthUsed-500) > 0.001 {
		t.Errorf("%v mm, %+v", l.LengthUsed, found)
	}
}
