package separation

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// laid gives the placed rings of a lay: for each item its outline, then its holes.
func laid(items []Item, lay Layout) [][]orb.Ring {
	out := make([][]orb.Ring, len(items))
	for _, p := range lay.Placements {
		s, c := math.Sincos(p.Turn * math.Pi / 180)
		for _, ring := range append([][]orb.Point{items[p.Item].Outline}, items[p.Item].Holes...) {
			var r orb.Ring
			for _, q := range append(slices.Clone(ring), ring[0]) {
				r = append(r, orb.Point{c*q[0] - s*q[1] + p.At[0], s*q[0] + c*q[1] + p.At[1]})
			}
			out[p.Item] = append(out[p.Item], r)
		}
	}
	return out
}

// deepIn is how deep a point is inside a piece, or 0.
func deepIn(piece []orb.Ring, q orb.Point) float64 {
	if !planar.PolygonContains(orb.Polygon(piece), q) {
		return 0
	}
	return awayFrom(piece, q)
}

func awayFrom(piece []orb.Ring, q orb.Point) float64 {
	d := math.Inf(1)
	for _, r := range piece {
		for i := 1; i < len(r); i++ {
			d = min(d, planar.DistanceFromSegment(r[i-1], r[i], q))
		}
	}
	return d
}

// judge checks a lay by points only, along the pieces' lines and at random places inside their boxes. It shares no
// code with pipeline/lay/exact.
func judge(t *testing.T, s Strip, items []Item, lay Layout, r *rand.Rand) {
	t.Helper()
	if len(lay.Placements) != len(items) {
		t.Fatalf("%d of %d items are laid", len(lay.Placements), len(items))
	}
	turn := map[int]int{}
	for _, p := range lay.Placements {
		it := items[p.Item]
		k := slices.Index(it.Turns, p.Turn)
		if was, ok := turn[it.Group]; k < 0 || ok && it.Group > 0 && was != k {
			t.Fatalf("item %d of group %d lies at %g degrees", p.Item, it.Group, p.Turn)
		}
		turn[it.Group] = k
	}
	pieces := laid(items, lay)
	var end float64
	for i, p := range pieces {
		b := p[0].Bound()
		end = max(end, b.Max[0])
		if b.Min[0] < -0.005 || b.Min[1] < -0.005 || b.Max[1] > s.Width+0.005 {
			t.Fatalf("item %d lies outside: %v", i, b)
		}
		at0, atW := math.Abs(b.Min[1]) < 0.005, math.Abs(b.Max[1]-s.Width) < 0.005
		if e := items[i].Edge; e == Bottom && !at0 || e == Top && !atW || e == Either && !at0 && !atW {
			t.Fatalf("item %d does not lie on its edge: %v", i, b)
		}
		var probes []orb.Point
		for _, ring := range p {
			for k := 1; k < len(ring); k++ {
				for f := range 8 {
					u := float64(f) / 8
					probes = append(probes, orb.Point{ring[k-1][0] + u*(ring[k][0]-ring[k-1][0]), ring[k-1][1] + u*(ring[k][1]-ring[k-1][1])})
				}
			}
		}
		for _, z := range s.Avoid {
			zone := []orb.Ring{append(orb.Ring(slices.Clone(z)), z[0])}
			for range 200 {
				q := orb.Point{zone[0].Bound().Min[0] + r.Float64()*(zone[0].Bound().Max[0]-zone[0].Bound().Min[0]),
					zone[0].Bound().Min[1] + r.Float64()*(zone[0].Bound().Max[1]-zone[0].Bound().Min[1])}
				if min(deepIn(zone, q), deepIn(p, q)) > 0.006 {
					t.Fatalf("item %d reaches into a zone at %v", i, q)
				}
			}
		}
		inside := len(probes)
		for range 200 {
			probes = append(probes, orb.Point{b.Min[0] + r.Float64()*(b.Max[0]-b.Min[0]), b.Min[1] + r.Float64()*(b.Max[1]-b.Min[1])})
		}
		for j, o := range pieces {
			if ob := o[0].Bound().Pad(s.Gap); j == i || !b.Intersects(ob) {
				continue
			}
			for k, q := range probes {
				if k >= inside && deepIn(p, q) < 0.006 {
					continue
				}
				if deep := deepIn(o, q); deep > 0.006 || k < inside && s.Gap > 0 && awayFrom(o, q) < s.Gap-0.006 {
					t.Fatalf("items %d and %d meet at %v, %g deep, %g away", i, j, q, deep, awayFrom(o, q))
				}
			}
		}
	}
	if math.Abs(end-lay.Length) > 0.01 {
		t.Fatalf("the lay says it is %g long, and is %g", lay.Length, end)
	}
}

// TestSound lays random pieces with all options and checks every lay that the search gives.
func TestSound(t *testing.T) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewPCG(seed, 2))
	bettered := 0
	for trial := range 4 {
		s := Strip{Width: 300 + 300*r.Float64(), Gap: []float64{0, 2.5}[trial%2]}
		if trial >= 2 {
			s.Avoid = [][]orb.Point{{{150, 100}, {190, 110}, {180, 160}}, {{300, 0}, {310, 0}, {310, 60}, {300, 60}}}
		}
		var items []Item
		for k := range 12 + r.IntN(8) {
			it := Item{Outline: star(r, 4+r.IntN(8), 30+80*r.Float64()), Turns: [][]float64{{0}, {0, 180}, {0, 90, 180, 270}, {10, 200}}[r.IntN(4)]}
			switch k {
			case 0, 1, 2:
				it.Group, it.Turns = 1, []float64{0, 180}
			case 3:
				it.Outline, it.Edge, it.Turns = box(80, 30), Either, []float64{0, 180}
			case 4:
				it.Outline, it.Edge, it.Turns = box(70, 40), []Edge{Bottom, Top}[trial%2], []float64{0}
			case 5:
				it.Outline, it.Holes = box(120, 110), [][]orb.Point{{{10, 10}, {100, 15}, {90, 95}, {20, 90}}}
			}
			items = append(items, it)
		}
		lays := 0
		lay, err := Search(context.Background(), s, items, Options{Seed: seed, Steps: 4000, Progress: func(l Layout) {
			if lays++; lays%10 == 1 {
				judge(t, s, items, l, r)
			}
		}})
		if err != nil {
			t.Fatal(err)
		}
		judge(t, s, items, lay, r)
		if lays > 1 {
			bettered++
		}
	}
	if bettered < 2 { // occasionally the first lay of so few pieces is the best
		t.Errorf("the first lay was bettered in %d of 4 trials", bettered)
	}
}

func TestSoundSets(t *testing.T) {
	seed := rand.Uint64N(1e6)
	t.Logf("seed %d", seed)
	for _, name := range []string{"trousers", "dagli", "mao"} {
		t.Run(name, func(t *testing.T) {
			s, items, area := readSet(t, name)
			for _, gap := range []float64{0, s.Width / 100} {
				s.Gap = gap
				lay, err := Search(context.Background(), s, items, Options{Seed: seed, Steps: 3000})
				if err != nil {
					t.Fatal(err)
				}
				judge(t, s, items, lay, rand.New(rand.NewPCG(seed, 3)))
				t.Logf("gap %g: %.2f %%", gap, 100*area/(s.Width*lay.Length))
			}
		})
	}
}

// TestStepsRepeat: the same steps and seed give the same lay, whatever the cores.
func TestStepsRepeat(t *testing.T) {
	s, items := benchItems(20, 7)
	var first Layout
	for k, cores := range []int{1, 2, 5, 1} {
		lay, err := Search(context.Background(), s, items, Options{Seed: 7, Steps: 9000, Cores: cores})
		if err != nil {
			t.Fatal(err)
		}
		if k == 0 {
			first = lay
		} else if d := cmp.Diff(first, lay); d != "" {
			t.Fatalf("with %d cores:\n%s", cores, d)
		}
	}
	other, err := Search(context.Background(), s, items, Options{Seed: 8, Steps: 9000})
	if err != nil || cmp.Equal(first, other) {
		t.Errorf("another seed gives the same lay: %v", err)
	}
}

// TestCancelKeepsTheBest: a cancelled search returns the shortest lay that it gave to Progress, by time and by steps.
func TestCancelKeepsTheBest(t *testing.T) {
	s, items := benchItems(30, 9)
	for _, steps := range []int{0, 1 << 40} {
		ctx, stop := context.WithCancel(context.Background())
		var told atomic.Int64
		shortest := math.Inf(1)
		lay, err := Search(ctx, s, items, Options{Steps: steps, Progress: func(l Layout) {
			if l.Length >= shortest {
				t.Errorf("told of %g after %g", l.Length, shortest)
			}
			shortest = l.Length
			if told.Add(1) == 4 {
				stop()
			}
		}})
		if err != nil || math.Abs(lay.Length-shortest) > 1e-9 || told.Load() < 4 {
			t.Errorf("steps %d: %v, length %g of %g, told %d times", steps, err, lay.Length, shortest, told.Load())
		}
		stop()
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if lay, err := Search(ctx, s, items, Options{}); err != nil || len(lay.Placements) != len(items) {
		t.Errorf("ended before it began: %v, %d placements", err, len(lay.Placements))
	}
}

// TestFixedLength: the search ends once the items fit, and else gives the length that they take.
func TestFixedLength(t *testing.T) {
	var items []Item
	for range 12 {
		items = append(items, Item{Outline: []orb.Point{{0, 0}, {60, 0}, {0, 60}}, Turns: []float64{0, 180}})
	}
	ctx, stop := context.WithTimeout(context.Background(), time.Minute)
	defer stop()
	lay, err := Search(ctx, Strip{Width: 120, Length: 200}, items, Options{})
	if err != nil || ctx.Err() != nil || lay.Length > 200 {
		t.Errorf("12 triangles of half of 60 by 60 mm on 120 by 200 mm: %v, %v, length %g", err, ctx.Err(), lay.Length)
	}
	lay, err = Search(ctx, Strip{Width: 120, Length: 170}, items, Options{Steps: 3000})
	if err != nil || lay.Length < 180-0.01 || lay.Length > 240 {
		t.Errorf("on 170 mm, where 180 are the least: %v, length %g", err, lay.Length)
	}
}

// TestSingle: one item, and items that cannot be laid shorter, end at once.
func TestSingle(t *testing.T) {
	for n := 1; n <= 3; n++ {
		var items []Item
		for range n {
			items = append(items, Item{Outline: box(50, 30), Turns: []float64{0, 90}})
		}
		lay, err := Search(context.Background(), Strip{Width: 30}, items, Options{Seed: 1})
		if want := float64(50 * n); err != nil || math.Abs(lay.Length-want) > 0.01 {
			t.Errorf("%d boxes in a row: %v, %g mm", n, err, lay.Length)
		}
	}
	if lay, err := Search(context.Background(), Strip{Width: 30}, nil, Options{}); err != nil || len(lay.Placements) != 0 {
		t.Errorf("no items: %v, %v", err, fmt.Sprint(lay))
	}
}

// TestExactFit: boxes fill the strip to the last hundredth, and a peg fills its slot.
func TestExactFit(t *testing.T) {
	var items []Item
	for range 9 {
		items = append(items, Item{Outline: box(33, 33), Turns: []float64{0}})
	}
	lay, err := Search(context.Background(), Strip{Width: 99}, items, Options{Seed: 1, Steps: 20000})
	if err != nil || lay.Length > 99.01 {
		t.Errorf("nine boxes of 33 mm on 99 mm: %v, %g mm long", err, lay.Length)
	}
	items = []Item{
		{Outline: []orb.Point{{0, 0}, {100, 0}, {100, 60}, {60, 60}, {60, 20}, {40, 20}, {40, 60}, {0, 60}}, Turns: []float64{0}},
		{Outline: box(20, 40), Turns: []float64{0}},
	}
	lay, err = Search(context.Background(), Strip{Width: 60}, items, Options{Seed: 1, Steps: 20000})
	if err != nil || lay.Length > 100.01 {
		t.Errorf("a peg and its slot: %v, %g mm long", err, lay.Length)
	}
}

// TestFineOutlines: outlines as fine as a reader's are simplified for the search, and the lay is sound with the given
// ones.
func TestFineOutlines(t *testing.T) {
	if p, q := bodice(), thinned(bodice()); len(p) < 100 || len(q) > len(p)/3 {
		t.Fatalf("%d points are thinned to %d", len(p), len(q))
	} else {
		thin, whole := orb.Ring(append(q, q[0])), orb.Ring(append(p, p[0]))
		for _, v := range p {
			if !planar.RingContains(thin, v) && awayFrom([]orb.Ring{thin}, v) > 1e-9 {
				t.Errorf("%v lies outside the thinned outline", v)
			}
		}
		if a, b := math.Abs(planar.Area(thin)), math.Abs(planar.Area(whole)); a < b-1e-6 || a > b*(1+thinShare) {
			t.Errorf("the thinned outline has %g mm², the whole one %g", a, b)
		}
	}
	var items []Item
	for range 6 {
		items = append(items, Item{Outline: bodice(), Turns: []float64{0, 180}})
	}
	s := Strip{Width: 1400, Gap: 1}
	first, err := Search(context.Background(), s, items, Options{Steps: 1})
	if err != nil {
		t.Fatal(err)
	}
	lay, err := Search(context.Background(), s, items, Options{Steps: 6000})
	if err != nil || lay.Length >= first.Length {
		t.Errorf("six bodices: %v, %g mm after %g", err, lay.Length, first.Length)
	}
	judge(t, s, items, lay, rand.New(rand.NewPCG(1, 1)))
	t.Logf("six bodices: %.1f mm, the first lay %.1f", lay.Length, first.Length)
}
