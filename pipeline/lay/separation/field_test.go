package separation

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/lay/exact"
)

// star is a random concave outline round the origin.
func star(r *rand.Rand, n int, size float64) []orb.Point {
	out := make([]orb.Point, n)
	for i := range out {
		s, c := math.Sincos(2 * math.Pi * (float64(i) + 0.8*r.Float64()) / float64(n))
		d := size * (0.25 + 0.75*r.Float64())
		out[i] = orb.Point{d * c, d * s}
	}
	return out
}

// TestFieldAgainstExact compares the depth of a field with the exact test at random places: a place is free exactly
// where the exact test says so, and a move by the depth in the given direction makes it free.
func TestFieldAgainstExact(t *testing.T) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewPCG(seed, 1))
	for trial := range 20 {
		gap := []float64{0, 0, 3}[trial%3]
		items := []Item{
			{Outline: star(r, 3+r.IntN(12), 100), Turns: []float64{0, 90, 180, 37}},
			{Outline: star(r, 3+r.IntN(12), 30+70*r.Float64()), Turns: []float64{0, 180, 270}},
		}
		if trial%5 == 4 {
			items[0].Outline = box(200, 200)
			items[0].Holes = [][]orb.Point{{{40, 40}, {150, 50}, {140, 160}, {30, 150}}}
		}
		ps, err := newPieces(Strip{Width: 1e4, Gap: gap}, items)
		if err != nil {
			t.Fatal(err)
		}
		tab := newTable(ps)
		for range 120 {
			fa, fb := r.IntN(4), 4+r.IntN(3)
			a, b := &ps.list[0].faces[fa], &ps.list[1].faces[fb-4]
			if r.IntN(2) == 0 {
				fa, fb, a, b = fb, fa, b, a
			}
			q := orb.Point{400*r.Float64() - 200, 400*r.Float64() - 200}
			unsound := func(q orb.Point) bool {
				here := orb.Point{5000, 5000}
				return len(exact.Check(exact.Strip{Width: 1e4, Gap: gap}, []exact.Piece{a.at(here), b.at(geom.Add(here, q))})) > 0
			}
			p := tab.of(fa, fb)
			d := p.depth(q[0], q[1])
			if d > 0.02 && !unsound(q) || d == 0 && unsound(q) {
				t.Fatalf("trial %d: gap %g, at %v depth %g, unsound %v\n%v\n%v", trial, gap, q, d, unsound(q), items, [2]float64{a.turn, b.turn})
			}
			if d > 0 {
				d2, nx, ny, ok := p.near(q[0], q[1])
				out := orb.Point{q[0] + nx*d2, q[1] + ny*d2}
				if !ok || math.Abs(d2-d) > 1e-9 || unsound(out) && gap == 0 {
					t.Fatalf("trial %d: gap %g, at %v depth %g and %g, moved %v", trial, gap, q, d, d2, out)
				}
			}
		}
	}
}

// TestFieldFindsTheSlit: a peg that fits its hole exactly is free in it, and nowhere beside it.
func TestFieldFindsTheSlit(t *testing.T) {
	slot := []orb.Point{{0, 0}, {100, 0}, {100, 60}, {60, 60}, {60, 20}, {40, 20}, {40, 60}, {0, 60}}
	ps, err := newPieces(Strip{Width: 1e3}, []Item{{Outline: slot, Turns: []float64{0}}, {Outline: box(20, 40), Turns: []float64{0}}})
	if err != nil {
		t.Fatal(err)
	}
	p := newTable(ps).of(0, 1)
	for _, c := range []struct{ x, y, depth float64 }{{40, 20, 0}, {40, 30, 0}, {41, 30, 1}, {38, 30, 2}, {40, 18, 2}, {40, 70, 0}} {
		if d := p.depth(c.x, c.y); math.Abs(d-c.depth) > 1e-6 {
			t.Errorf("at %g, %g depth %g, not %g", c.x, c.y, d, c.depth)
		}
	}
}

// bodice is a bodice front of 290 by 650 mm with concave armhole and neck, its curves as fine as a reader's.
func bodice() []orb.Point {
	pts := []orb.Point{{0, 0}, {290, 0}, {280, 420}}
	pts = geom.FlattenCubic(pts, orb.Point{280, 420}, orb.Point{210, 430}, orb.Point{215, 520}, orb.Point{240, 610}, geom.FlattenTol)
	pts = append(pts, orb.Point{90, 650})
	return geom.FlattenCubic(pts, orb.Point{90, 650}, orb.Point{85, 590}, orb.Point{60, 560}, orb.Point{0, 560}, geom.FlattenTol)
}

func BenchmarkField(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 1))
	for _, c := range []struct {
		name string
		a, b []orb.Point
	}{
		{"boxes", box(100, 200), box(50, 60)},
		{"stars of 8", star(r, 8, 100), star(r, 8, 80)},
		{"stars of 24", star(r, 24, 100), star(r, 24, 80)},
		{"bodices", bodice(), bodice()},
	} {
		b.Run(c.name, func(b *testing.B) {
			p, q := convexParts(thinned(c.a), nil), convexParts(thinned(c.b), nil)
			var f *field
			for b.Loop() {
				f = newField(p, q, 0, gridFew)
			}
			b.ReportMetric(float64(len(p)), "parts")
			b.ReportMetric(float64(len(c.a)), "vertices")
			b.ReportMetric(float64(len(thinned(c.a))), "thinned")
			b.ReportMetric(float64(len(f.lines)), "lines")
			b.ReportMetric(float64(f.bytes()), "B/field")
		})
	}
}
