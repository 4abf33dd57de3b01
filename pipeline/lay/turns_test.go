package lay

import (
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// TestTurnsAllowed: the turns of a piece on cloth, in degrees, as in the trade: along the grain either way, one way
// with a nap, by quarters where that is allowed or the piece is on the bias, and up to so many degrees off the grain.
func TestTurnsAllowed(t *testing.T) {
	straight, slant := withGrain(rect("a", 100, 300), 50, 20, 50, 280), withGrain(rect("b", 100, 300), 20, 20, 80, 80)
	for name, c := range map[string]struct {
		r    pattern.Ready
		m    pattern.Material
		want []float64
	}{
		"no nap":              {straight, pattern.Material{Nap: pattern.NapNone}, []float64{0, 180}},
		"a nap":               {straight, pattern.Material{Nap: pattern.NapAll}, []float64{0}},
		"a nap, on the bias":  {slant, pattern.Material{Nap: pattern.NapAll}, []float64{0}},
		"on the bias":         {slant, pattern.Material{Nap: pattern.NapNone}, []float64{0, 90, 180, 270}},
		"quarter turns":       {straight, pattern.Material{Nap: pattern.NapNone, QuarterTurns: true}, []float64{0, 90, 180, 270}},
		"2 degrees, no nap":   {straight, pattern.Material{Nap: pattern.NapNone, Tilt: 2}, []float64{-2, 0, 2, 178, 180, 182}},
		"2 degrees, a nap":    {straight, pattern.Material{Nap: pattern.NapAll, Tilt: 2}, []float64{-2, 0, 2}},
		"turns that are said": {straight, pattern.Material{Nap: pattern.NapAll, Turns: []float64{0, 45}}, []float64{0, 45}},
	} {
		c.m.Cloth = true
		_, got := turnsOf(&c.r, c.m)
		if got = slices.Sorted(slices.Values(got)); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}

// TestTiltOffGrain: pieces are at most so many degrees off the grain and sound, and a slender piece longer than the
// cloth is laid at an angle where that is allowed: 1000 mm at 10 degrees are 985 along and, 20 mm wide, 3 more.
func TestTiltOffGrain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := pattern.Material{Width: 800, Cloth: true, Nap: pattern.NapAll, Fold: pattern.FoldNone, Tilt: rapid.Float64Range(0.5, 8).Draw(t, "tilt")}
		var ready []pattern.Ready
		for range 6 {
			r := pair("piece", rapid.Float64Range(150, 500).Draw(t, "long"), rapid.Float64Range(60, 300).Draw(t, "wide"))[0]
			ready = append(ready, r)
		}
		l, found := OnCloth(t.Context(), ready, m, few)
		if len(found) > 0 {
			t.Fatal(found)
		}
		mustBeSound(t, l, ready)
		for _, p := range l.Placements {
			g := ready[p.Ready].Grain
			if v := geom.Unit(p.Map.Vector(geom.Sub(g.B, g.A))); math.Abs(math.Atan2(v[1], v[0])) > m.Tilt*math.Pi/180+1e-9 {
				t.Errorf("the grain points to %v with %.2f degrees allowed", v, m.Tilt)
			}
		}
	})
	stick := []pattern.Ready{withGrain(rect("stick", 20, 1000), 10, 20, 10, 980)}
	for tilt, fits := range map[float64]bool{0: false, 10: true} {
		m := pattern.Material{Width: 800, Length: 990, Cloth: true, Nap: pattern.NapAll, Fold: pattern.FoldNone, Tilt: tilt}
		if _, found := OnCloth(t.Context(), stick, m, few); (len(found) == 0) != fits {
			t.Errorf("%v degrees: %+v", tilt, found)
		}
	}
}

// TestNoFoldOnAMachine: whatever the material says about folds, a lay for a machine is in one layer, each copy at a
// place of its own.
func TestNoFoldOnAMachine(t *testing.T) {
	ready := append(pair("sleeve", 400, 200), onTheFold("body", 500, 200))
	for _, f := range pattern.Foldings() {
		m := pattern.Material{Width: 1200, Cloth: true, Nap: pattern.NapAll, Fold: pattern.Folding(f)}
		l, found := OnMachine(t.Context(), ready, m, few)
		if len(found) > 0 || l.Fold != pattern.FoldNone || l.FoldLines() != nil || l.Material.Fold != pattern.FoldNone || len(l.Placements) != len(ready) {
			t.Fatalf("%s: %+v, %+v", f, l, found)
		}
		mustLieApart(t, l, ready)
	}
}

// mustLieApart checks that the boxes' middles differ: two copies in two layers of a fold have the same one.
func mustLieApart(t *testing.T, l pattern.Lay, ready []pattern.Ready) {
	t.Helper()
	var at []orb.Point
	for _, p := range laid(l, ready) {
		c := p.Bound().Center()
		for _, o := range at {
			if geom.Dist(c, o) < 50 {
				t.Errorf("two pieces lie at %v", c)
			}
		}
		at = append(at, c)
	}
}

// TestWidthForAFold: a piece too wide for a layer of folded cloth is refused with the least width that is enough, and
// on that width it is laid.
func TestWidthForAFold(t *testing.T) {
	ready := pair("sleeve", 400, 300)
	for fold, least := range map[pattern.Folding]float64{pattern.FoldOnce: 2 * (300 + 2 + 15), pattern.FoldTwo: 4 * (300 + 2 + 15)} {
		m := pattern.Material{Width: least - 1, Cloth: true, Selvedge: 15, Gap: 4, Fold: fold}
		_, found := OnCloth(t.Context(), ready, m, few)
		if want := fmt.Sprintf("at least %v mm wide", least); len(found) != 1 || !strings.Contains(found[0].Mend, want) {
			t.Fatalf("%s: %+v, want %s", fold, found, want)
		}
		if m.Width = least; true {
			if _, found = OnCloth(t.Context(), ready, m, few); len(found) > 0 {
				t.Errorf("%s: %+v", fold, found)
			}
		}
	}
}

// TestOneCoreFree: a search with Busy leaves one core free.
func TestOneCoreFree(t *testing.T) {
	never := func() bool { return false }
	for _, c := range []struct {
		o    Options
		want int
	}{{Options{}, 0}, {Options{Busy: never}, max(1, runtime.GOMAXPROCS(0)-1)}, {Brief(Options{Busy: never, Cores: 3}), 3}} {
		if got := c.o.cores(); got != c.want {
			t.Errorf("%+v: %d cores, want %d", c.o, got, c.want)
		}
	}
}
