//go:build geos

package separation

import (
	"context"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/twpayne/go-geos"
)

// askGEOS checks a lay with GEOS: no two pieces overlap by more than a disc of 0.006 mm, nor violate the gap.
func askGEOS(t *testing.T, ctx *geos.Context, s Strip, items []Item, lay Layout) {
	t.Helper()
	var whole, less []*geos.Geom
	for _, p := range laid(items, lay) {
		var rings [][][]float64
		for _, ring := range p {
			var c [][]float64
			for _, q := range ring {
				c = append(c, []float64{q[0], q[1]})
			}
			rings = append(rings, c)
		}
		g := ctx.NewPolygon(rings)
		whole, less = append(whole, g), append(less, g.Buffer(-0.003, 8))
	}
	for i := range whole {
		for j := i + 1; j < len(whole); j++ {
			if !less[i].Intersection(less[j]).IsEmpty() || whole[i].Distance(whole[j]) < s.Gap-0.006 {
				t.Errorf("pieces %d and %d meet at gap %g: distance %g", i, j, s.Gap, whole[i].Distance(whole[j]))
			}
		}
	}
}

// TestSoundBesideGEOS checks random lays, and the open sets where they are present, with GEOS.
func TestSoundBesideGEOS(t *testing.T) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewPCG(seed, 4))
	ctx := geos.NewContext()
	ask := func(t *testing.T, s Strip, items []Item) {
		t.Helper()
		lay, err := Search(context.Background(), s, items, Options{Seed: seed, Steps: 4000})
		if err != nil {
			t.Fatal(err)
		}
		askGEOS(t, ctx, s, items, lay)
	}
	for trial := range 4 {
		var items []Item
		for range 20 {
			items = append(items, Item{Outline: star(r, 3+r.IntN(30), 20+80*r.Float64()), Turns: []float64{0, 180, 45}})
		}
		items[0] = Item{Outline: box(120, 110), Holes: [][]orb.Point{{{10, 10}, {100, 15}, {90, 95}, {20, 90}}}, Turns: []float64{0}}
		ask(t, Strip{Width: 400, Gap: []float64{0, 2}[trial%2]}, items)
	}
	for _, name := range []string{"trousers", "dagli", "mao"} {
		t.Run(name, func(t *testing.T) {
			s, items, _ := readSet(t, name)
			ask(t, s, items)
		})
	}
}

// TestOpeningsBesideGEOS checks 12 lays with pieces in openings with GEOS, the first lay and that of a short search.
func TestOpeningsBesideGEOS(t *testing.T) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewPCG(seed, 7))
	ctx := geos.NewContext()
	inside := 0
	for trial := range 6 {
		s, items := hollow(r, []float64{0, 2.5}[trial%2])
		for _, steps := range []int{1, 3000} {
			lay, err := Search(context.Background(), s, items, Options{Seed: seed, Steps: steps})
			if err != nil {
				t.Fatal(err)
			}
			askGEOS(t, ctx, s, items, lay)
			inside += within(items, lay)
		}
	}
	if inside < 24 {
		t.Errorf("%d pieces lie in openings: the test says little", inside)
	}
}
