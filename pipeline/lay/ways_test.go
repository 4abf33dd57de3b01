package lay

import (
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// TestNapIsBlamedByProof: that cloth without a nap takes less is told where all searches without it agree, as for
// gores that are laid head to foot; for pieces that are nearly rectangles a search without it may be shorter at
// random.
func TestNapIsBlamedByProof(t *testing.T) {
	m := pattern.Material{Width: 1000, Cloth: true, Nap: pattern.NapAll, Fold: pattern.FoldNone}
	piece := func(points ...orb.Point) pattern.Ready {
		w, l := points[2][0], points[2][1]
		return withGrain(pattern.Ready{Name: "piece", Copy: 1, Copies: 1, Garment: 1, Outline: geom.Path{Closed: true, Points: points}}, w/2, 10, w/2, l-10)
	}
	without := func(ready []pattern.Ready) Way {
		w := Way{"cloth without a nap", m, ready}
		w.Material.Nap = pattern.NapNone
		return w
	}
	var gores []pattern.Ready
	for range 6 {
		gores = append(gores, piece(orb.Point{110, 0}, orb.Point{190, 0}, orb.Point{300, 700}, orb.Point{0, 700}))
	}
	with, found := OnCloth(t.Context(), gores, m, Options{Steps: 200, Seed: 1})
	if len(found) > 0 {
		t.Fatal(found)
	}
	if length, ok := without(gores).Length(t.Context(), gores, m, Options{Steps: 30, Seed: 1}); !ok || length >= with.LengthUsed {
		t.Errorf("gores without a nap lie on %.0f mm (%v), with it on %.0f mm", length, ok, with.LengthUsed)
	}

	const seed = 9 // the first seed for which a search without a nap is shorter at random
	r := rand.New(rand.NewPCG(seed, 1))
	var plain []pattern.Ready
	for range 14 {
		long, wide := 150+300*r.Float64(), 80+250*r.Float64()
		plain = append(plain, piece(orb.Point{0, 0}, orb.Point{wide, 0}, orb.Point{wide, long - 3}, orb.Point{0, long}))
	}
	way, brief := without(plain), Options{Steps: 30, Seed: seed}
	shown, found := OnCloth(t.Context(), plain, m, Options{Steps: 600, Seed: seed})
	if len(found) > 0 {
		t.Fatal(found)
	}
	lucky, found := OnCloth(t.Context(), plain, way.Material, brief)
	if len(found) > 0 || lucky.LengthUsed >= shown.LengthUsed-rounding {
		t.Fatalf("by seed %d the search without a nap gives %.1f mm, with it %.1f mm (%v), and no chance is tried: seek another seed", seed, lucky.LengthUsed, shown.LengthUsed, found)
	}
	if length, ok := way.Length(t.Context(), plain, m, brief); ok && length < shown.LengthUsed {
		t.Errorf("blamed by chance: %.1f mm without a nap, %.1f mm as it is shown", length, shown.LengthUsed)
	}
}
