package offset

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"tracewheel/geom"
)

// Any outline at all, crossing itself and doubled over: Build answers or refuses, and what it
// answers is sound: rings of some area, each the right way round, one label a stretch.
func TestOffsetOfAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := geom.Path{Closed: true}
		for range rapid.IntRange(2, 14).Draw(t, "n") {
			// Whole tenths, so that overlaps and doubled points occur.
			x, y := rapid.IntRange(0, 60).Draw(t, "x"), rapid.IntRange(0, 60).Draw(t, "y")
			p.Points = append(p.Points, orb.Point{float64(x) / 10, float64(y) / 10})
		}
		var edges []Edge
		sign := rapid.SampledFrom([]float64{1, -1}).Draw(t, "sign")
		for i := range p.Points {
			if i == 0 || rapid.Bool().Draw(t, "edge") {
				w := sign * float64(rapid.IntRange(0, 20).Draw(t, "width")) / 10
				edges = append(edges, Edge{First: i, From: w, To: w,
					Corner:    CornerKind(rapid.IntRange(0, int(Stepped)).Draw(t, "corner")),
					SewnFirst: rapid.Bool().Draw(t, "first")})
			}
		}
		rings, err := Build(p, edges, rapid.Float64Range(1, 6).Draw(t, "limit"))
		if err != nil {
			return
		}
		for _, r := range rings {
			if len(r.Edge) != len(r.Path.Points) || len(r.Path.Corners) != len(r.Edge) || !r.Path.Closed {
				t.Fatal("labels, corners and points do not match")
			}
			if a := r.Path.SignedArea(); a == 0 || math.IsNaN(a) || r.Hole != (a < 0) {
				t.Fatalf("a ring of %g mm2, hole %v", a, r.Hole)
			}
			for _, e := range r.Edge {
				if e < -1 || e >= len(edges) {
					t.Fatalf("edge %d of %d", e, len(edges))
				}
			}
		}
	})
}

// Same input, same rings, whatever was built before in the same memory.
func TestOffsetRepeats(t *testing.T) {
	p := hemPanel(80)
	once := oneRing(t, p, hemEdges(Mirrored), 5)
	if _, err := uniform(geom.Path{Closed: true, Points: []orb.Point{{0, 0}, {500, 0}, {250, 30}, {500, 60}, {0, 60}}}, 25, 2); err != nil {
		t.Fatal(err)
	}
	again := oneRing(t, p, hemEdges(Mirrored), 5)
	for i, q := range once.Path.Points {
		if again.Path.Points[i] != q || again.Edge[i] != once.Edge[i] {
			t.Fatalf("point %d is %v, was %v", i, again.Path.Points[i], q)
		}
	}
}
