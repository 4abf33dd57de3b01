package lay

import (
	"context"
	"fmt"
	"math"
	"time"

	"tracewheel/pipeline/pattern"
)

// Brief bounds a search that is only for comparison.
func Brief(o Options) Options {
	b := Options{Seed: o.Seed, Time: min(o.Time/20, 500*time.Millisecond), Cores: o.Cores, Busy: o.Busy, Unit: o.Unit}
	if o.Steps > 0 {
		b.Steps = max(1, o.Steps/20)
	}
	return b
}

// Widths are usual widths of cloth in shops, mm.
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

// Ways lists what a cutter would try: another fold, a strip or a facing in two parts, cloth without a nap.
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
	if i := LongestFolded(laid); i >= 0 {
		out = append(out, Way{fmt.Sprintf("%q in two, with a seam where its fold is", laid[i].Name), mat, HalvedAtFold(laid, laid[i].Name)})
	}
	if mat.Nap != pattern.NapNone && mat.Cloth {
		w := Way{"cloth without a nap", mat, laid}
		w.Material.Nap = pattern.NapNone
		out = append(out, w)
	}
	return out
}

// chance is the relative difference by which two short searches may differ at random.
const chance = 0.01

// Length is the length of the pieces' lay in another way than on mat, mm; false where no clear result is found. A lay
// without a nap depends on the cloth, which the cutter cannot choose: it counts only where the longer of two lays
// without a nap is shorter than the shorter of two with it by more than chance, all found with equal searches.
func (w Way) Length(ctx context.Context, laid []pattern.Ready, mat pattern.Material, opt Options) (float64, bool) {
	l, found := OnCloth(ctx, w.Ready, w.Material, opt)
	if len(found) > 0 || w.Material.Nap == mat.Nap {
		return l.LengthUsed, len(found) == 0
	}
	longest, shortest := l.LengthUsed, math.Inf(1)
	for k := range uint64(2) {
		again := opt
		again.Seed += k
		if with, found := OnCloth(ctx, laid, mat, again); len(found) == 0 {
			shortest = math.Min(shortest, with.LengthUsed)
		}
		if k == 0 {
			continue // see above
		}
		if l, found = OnCloth(ctx, w.Ready, w.Material, again); len(found) == 0 {
			longest = math.Max(longest, l.LengthUsed)
		}
	}
	return longest, longest < (1-chance)*shortest
}
