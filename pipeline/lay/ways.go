package lay

import (
	"fmt"
	"time"

	"tracewheel/pipeline/pattern"
)

// Brief bounds a search that only compares.
func Brief(o Options) Options {
	b := Options{Seed: o.Seed, Time: min(o.Time/20, 500*time.Millisecond)}
	if o.Steps > 0 {
		b.Steps = max(1, o.Steps/20)
	}
	return b
}

// Widths that shops sell, mm.
func Widths(inches bool) []float64 {
	if inches {
		return []float64{36 * 25.4, 44 * 25.4, 54 * 25.4, 60 * 25.4}
	}
	return []float64{900, 1100, 1400, 1500}
}

// Way is another way to lay the same pieces.
type Way struct {
	Words    string
	Material pattern.Material
	Ready    []pattern.Ready
}

// Ways lists what a cutter would try: another fold, a strip in two, cloth without a nap, quarter turns.
func Ways(laid []pattern.Ready, mat pattern.Material, fold pattern.Folding) []Way {
	var out []Way
	for _, f := range pattern.Foldings() {
		if other := pattern.Folding(f); mat.Cloth && other != mat.Fold && (mat.Fold != pattern.FoldBest || other != fold) {
			w := Way{"cloth " + other.Words(), mat, laid}
			w.Material.Fold = other
			out = append(out, w)
		}
	}
	if i := LongestStrip(laid); i >= 0 {
		w := Way{fmt.Sprintf("%q in two, with a seam", laid[i].Name), mat, Halved(laid, laid[i].Name)}
		out = append(out, w)
	}
	if mat.Nap != pattern.NapNone && mat.Cloth {
		w := Way{"cloth without a nap", mat, laid}
		w.Material.Nap = pattern.NapNone
		out = append(out, w)
	}
	return out
}
