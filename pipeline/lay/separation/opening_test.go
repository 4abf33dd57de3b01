package separation

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// hollow are random plates with one or two polygonal holes, and small pieces of which some fit into them.
func hollow(r *rand.Rand, gap float64) (Strip, []Item) {
	var items []Item
	s := Strip{Width: 420 + 100*r.Float64(), Gap: gap}
	for range 2 + r.IntN(2) {
		w, h := 160+80*r.Float64(), 160+80*r.Float64()
		it := Item{Outline: box(w, h), Turns: [][]float64{{0}, {0, 180}, {0, 90}, {30, 210}}[r.IntN(4)]}
		if r.IntN(2) == 0 {
			it.Holes = [][]orb.Point{moved(star(r, 5+r.IntN(40), 0.4*min(w, h)), w/2, h/2)}
		} else {
			it.Holes = [][]orb.Point{moved(box(w/2-15, h-20), 10, 10), moved(box(w/2-15, h-20), w/2+5, 10)}
		}
		if r.IntN(2) == 0 {
			slices.Reverse(it.Holes[0])
		}
		items = append(items, it)
	}
	for range 14 {
		items = append(items, Item{Outline: star(r, 4+r.IntN(8), 14+18*r.Float64()), Turns: []float64{0, 180}})
	}
	if r.IntN(3) == 0 {
		s.Avoid = [][]orb.Point{moved(box(30, 30), 60, 60)}
	}
	return s, items
}

func moved(ring []orb.Point, x, y float64) []orb.Point {
	out := slices.Clone(ring)
	for i := range out {
		out[i] = orb.Point{out[i][0] + x, out[i][1] + y}
	}
	return out
}

// within counts the items that are in another one's hole.
func within(items []Item, lay Layout) int {
	n := 0
	pieces := laid(items, lay)
	for i, p := range pieces {
		for j, o := range pieces {
			if i != j && slices.ContainsFunc(o[1:], func(h orb.Ring) bool { return planar.RingContains(h, p[0][0]) }) {
				n++
			}
		}
	}
	return n
}

// TestOpeningsAreUsed: small pieces go into the holes in the first lay and in the search, whose lay is no longer, and
// every lay is sound.
func TestOpeningsAreUsed(t *testing.T) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewPCG(seed, 6))
	first, sought := 0, 0
	for trial := range 8 {
		s, items := hollow(r, []float64{0, 3}[trial%2])
		ps, err := newPieces(s, items)
		if err != nil {
			t.Fatal(err)
		}
		one, _, err := firstPlaces(ps)
		if err != nil {
			t.Fatal(err)
		}
		judge(t, s, items, one, r)
		lay, err := Search(context.Background(), s, items, Options{Seed: seed, Steps: 2000})
		if err != nil {
			t.Fatal(err)
		}
		judge(t, s, items, lay, r)
		if lay.Length > one.Length {
			t.Errorf("the search made %.3f mm of %.3f", lay.Length, one.Length)
		}
		first, sought = first+within(items, one), sought+within(items, lay)
	}
	t.Logf("%d pieces lie in holes at first, %d after the search", first, sought)
	if first < 16 || sought < 16 {
		t.Errorf("of 112 small pieces %d lie in holes at first, %d after the search", first, sought)
	}
}

// TestOpeningTakesNoLength: four squares of 40 mm fit in a hole of 92 by 92 mm with 3 mm between all, for which 89
// would be enough; with 7 mm they need 101, and one of them 54.
func TestOpeningTakesNoLength(t *testing.T) {
	items := []Item{{Outline: box(120, 120), Holes: [][]orb.Point{moved(box(92, 92), 14, 14)}, Turns: []float64{0}}}
	for range 4 {
		items = append(items, Item{Outline: box(40, 40), Turns: []float64{0}})
	}
	for _, c := range []struct {
		gap float64
		in  int
	}{{0, 4}, {3, 4}, {7, 1}} {
		ps, err := newPieces(Strip{Width: 120, Gap: c.gap}, items)
		if err != nil {
			t.Fatal(err)
		}
		lay, _, err := firstPlaces(ps)
		if err != nil {
			t.Fatal(err)
		}
		if n := within(items, lay); n != c.in || c.in == 4 && math.Abs(lay.Length-120) > 1e-9 {
			t.Errorf("gap %g: %d squares lie in the hole, %d expected; the lay is %g mm long", c.gap, n, c.in, lay.Length)
		}
	}
}

// TestOddHoles: with holes that overlap or cross their outline the first lay is sound too.
func TestOddHoles(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	items := []Item{
		{Outline: box(100, 100), Holes: [][]orb.Point{moved(box(60, 60), 70, 20)}, Turns: []float64{0}},
		{Outline: box(100, 100), Holes: [][]orb.Point{moved(box(60, 60), 10, 10), moved(box(60, 60), 30, 30)}, Turns: []float64{0}},
		{Outline: box(100, 100), Holes: [][]orb.Point{{}, {{5, 5}}, {{5, 5}, {50, 50}}, nil}, Turns: []float64{0}},
	}
	for range 6 {
		items = append(items, Item{Outline: box(25, 25), Turns: []float64{0, 45}})
	}
	s := Strip{Width: 220, Gap: 1}
	ps, err := newPieces(s, items)
	if err != nil {
		t.Fatal(err)
	}
	lay, _, err := firstPlaces(ps)
	if err != nil {
		t.Fatal(err)
	}
	items[0].Holes, items[1].Holes, items[2].Holes = nil, items[1].Holes[:1], nil // those that count as holes
	judge(t, s, items, lay, r)
}

// TestThinnedHoles: a fine hole is simplified, and stays inside the given one.
func TestThinnedHoles(t *testing.T) {
	var ring []orb.Point
	for k := range 120 {
		s, c := math.Sincos(2 * math.Pi * float64(k) / 120)
		ring = append(ring, orb.Point{60 * c, 40*s + 8*c*c})
	}
	for _, h := range [][]orb.Point{ring, reversed(ring)} {
		thin := thinnedHoles([][]orb.Point{h})[0]
		if len(thin) > 80 {
			t.Errorf("%d points are left of 120", len(thin))
		}
		whole := orb.Ring(append(slices.Clone(h), h[0]))
		for _, p := range thin {
			if !planar.RingContains(whole, p) && awayFrom([]orb.Ring{whole}, p) > 1e-9 {
				t.Errorf("%v lies outside the hole", p)
			}
		}
	}
}

func reversed(ring []orb.Point) []orb.Point {
	out := slices.Clone(ring)
	slices.Reverse(out)
	return out
}

// TestFirstLayAndRows: the first lay is no longer than rows of the pieces' boxes, longest first, computed here.
func TestFirstLayAndRows(t *testing.T) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewPCG(seed, 8))
	for range 30 {
		s := Strip{Width: 400, Gap: float64(r.IntN(3))}
		var items []Item
		var boxes [][2]float64
		for range 4 + r.IntN(12) {
			w, h := 60+300*r.Float64(), 40+160*r.Float64()
			items = append(items, Item{Outline: []orb.Point{{0, 0}, {w, h / 3}, {w * 0.8, h}, {w / 9, h / 2}}, Turns: []float64{0, 180}})
			boxes = append(boxes, [2]float64{w, h})
		}
		slices.SortFunc(boxes, func(a, b [2]float64) int { return int(math.Copysign(1, b[0]-a[0])) })
		var used []float64
		rows := -s.Gap
		for _, b := range boxes {
			k := slices.IndexFunc(used, func(u float64) bool { return u+s.Gap+b[1] <= s.Width })
			if k < 0 {
				k, used, rows = len(used), append(used, -s.Gap), rows+s.Gap+b[0]
			}
			used[k] += s.Gap + b[1]
		}
		ps, err := newPieces(s, items)
		if err != nil {
			t.Fatal(err)
		}
		lay, _, err := firstPlaces(ps)
		if err != nil || lay.Length > rows+0.01 {
			t.Errorf("%v: %.2f mm, in rows %.2f", err, lay.Length, rows)
		}
	}
}
