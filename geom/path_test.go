package geom

import (
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"
)

func drawPath(t *rapid.T, most int) Path {
	n := rapid.IntRange(2, most).Draw(t, "n")
	p := Path{Closed: rapid.Bool().Draw(t, "closed")}
	for range n {
		// Whole tenths, so that overlaps and doubled points occur.
		x, y := rapid.IntRange(0, 60).Draw(t, "x"), rapid.IntRange(0, 60).Draw(t, "y")
		p.Points = append(p.Points, orb.Point{float64(x) / 10, float64(y) / 10})
	}
	return p
}

// Nearest by an index is the nearest by looking at each stretch, and by dense sampling.
func TestNearestAgainstBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		paths := []Path{drawPath(t, 40), drawPath(t, 40), drawPath(t, 3)}
		ix := NewIndex(paths...)
		q := orb.Point{rapid.Float64Range(-2, 8).Draw(t, "qx"), rapid.Float64Range(-2, 8).Draw(t, "qy")}
		k, n := ix.Nearest(q)
		best := math.Inf(1)
		for _, p := range paths {
			best = math.Min(best, p.Nearest(q).Dist)
			for i := range 400 {
				at, _ := p.At(p.Length() * float64(i) / 400)
				if d := Dist(at, q); d < n.Dist-1e-9 {
					t.Fatalf("found %g, a place at %g is nearer", n.Dist, d)
				}
			}
		}
		if math.Abs(best-n.Dist) > 1e-12 {
			t.Fatalf("index %g, scan %g", n.Dist, best)
		}
		a, b := paths[k].Segment(n.Segment)
		if Dist(Lerp(a, b, n.T), n.Point) > 1e-12 {
			t.Fatal("segment and point disagree")
		}
		if at, _ := paths[k].At(n.S); Dist(at, n.Point) > 1e-9 {
			t.Fatalf("length %g is at %v, not %v", n.S, at, n.Point)
		}
	})
	if k, n := NewIndex().Nearest(orb.Point{}); k != -1 || !math.IsInf(n.Dist, 1) {
		t.Error("an empty index finds something")
	}
}

// SelfCrossings reports a place for exactly those pairs of stretches that a comparison of each with
// each finds, up to places named once.
func TestSelfCrossingsAgainstBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPath(t, 25)
		var want []orb.Point
		ends, _ := solidSegments(p)
		for i := range ends {
			for j := i + 1; j < len(ends); j++ {
				at, both, ok := meetSegments(ends[i], ends[j])
				neighbours := j == i+1 || p.Closed && i == 0 && j == len(ends)-1 && len(ends) > 2
				if ok && (both || !neighbours) {
					want = append(want, at)
				}
			}
		}
		got := p.SelfCrossings(0)
		for _, c := range got {
			if c.I >= c.J {
				t.Fatalf("stretches %d and %d", c.I, c.J)
			}
			for _, k := range []int{c.I, c.J} {
				a, b := p.Segment(k)
				if _, d2 := SegmentNearest(a, b, c.At); d2 > 1e-14 {
					t.Fatalf("%v is not on stretch %d", c.At, k)
				}
			}
		}
		for _, at := range want {
			if !slices.ContainsFunc(got, func(c Crossing) bool { return Dist(c.At, at) < 1e-5 }) {
				t.Fatalf("the meeting at %v is missed", at)
			}
		}
		if len(want) > 0 && len(p.SelfCrossings(1)) != 1 {
			t.Fatal("a limit of one does not give one")
		}
	})
}

func TestCrossingsOfKnownFigures(t *testing.T) {
	bow := Path{Closed: true, Points: []orb.Point{{0, 0}, {10, 0}, {0, 10}, {10, 10}}}
	if c := bow.SelfCrossings(0); len(c) != 1 || c[0] != (Crossing{orb.Point{5, 5}, 1, 3}) {
		t.Errorf("a bow tie crosses at %v", c)
	}
	if c := (Path{Closed: true, Points: []orb.Point{{0, 0}, {10, 0}, {10, 10}, {0, 10}}}).SelfCrossings(0); c != nil {
		t.Errorf("a square crosses itself at %v", c)
	}
	spike := Path{Closed: true, Points: []orb.Point{{0, 0}, {10, 0}, {10, 5}, {15, 5}, {10, 5}, {10, 10}, {0, 10}}}
	if c := spike.SelfCrossings(0); len(c) == 0 {
		t.Error("a spike that turns back on itself is not seen")
	}
	a := Path{Points: []orb.Point{{0, 0}, {10, 10}}}
	b := Path{Points: []orb.Point{{0, 10}, {10, 0}, {12, 12}}}
	if c := Crossings(a, b); len(c) != 1 || c[0].At != (orb.Point{5, 5}) {
		t.Errorf("the diagonals of a square cross at %v", c)
	}
}

func TestAlongPath(t *testing.T) {
	square := Path{Closed: true, Points: []orb.Point{{0, 0}, {10, 0}, {10, 10}, {0, 10}}}
	for s, want := range map[float64]orb.Point{0: {0, 0}, 5: {5, 0}, 10: {10, 0}, 35: {0, 5}, 40: {0, 0}, 45: {5, 0}, -5: {0, 5}} {
		if got, dir := square.At(s); Dist(got, want) > 1e-12 || math.Abs(Norm(dir)-1) > 1e-12 {
			t.Errorf("%g along: %v %v, want %v", s, got, dir, want)
		}
	}
	over := square.Sub(35, 12)
	if want := []orb.Point{{0, 5}, {0, 0}, {10, 0}, {10, 2}}; !slices.Equal(over.Points, want) {
		t.Errorf("over the start: %v", over.Points)
	}
	paths := rapid.Custom(func(t *rapid.T) Path { return drawPath(t, 20) }).Filter(func(p Path) bool { return p.Length() >= 1 })
	rapid.Check(t, func(t *rapid.T) {
		p := paths.Draw(t, "path")
		l := p.Length()
		s0 := rapid.Float64Range(0, 1).Draw(t, "s0") * l
		s1 := rapid.Float64Range(0, 1).Draw(t, "s1") * l
		sub := p.Sub(s0, s1)
		want := s1 - s0
		if want < 0 && p.Closed {
			want += l
		}
		if math.Abs(sub.Length()-math.Max(0, want)) > 1e-8 {
			t.Fatalf("from %g to %g of %g: %g long", s0, s1, l, sub.Length())
		}
		for i := range sub.Segments() {
			a, b := sub.Segment(i)
			if n := p.Nearest(Lerp(a, b, 0.5)); n.Dist > 1e-9 {
				t.Fatalf("leaves the path by %g", n.Dist)
			}
		}
	})
}

// smoothPath is a curve flattened as a reader does it, with its corners marked.
func smoothPath(t *rapid.T) Path {
	p0 := drawPoint(t, "p0")
	p := Path{Points: []orb.Point{p0}, Corners: []bool{true}, Closed: rapid.Bool().Draw(t, "closed")}
	for range rapid.IntRange(1, 4).Draw(t, "curves") {
		last := p.Points[len(p.Points)-1]
		switch rapid.IntRange(0, 2).Draw(t, "kind") {
		case 0:
			p.Points = append(p.Points, drawPoint(t, "line"))
		case 1:
			p.Points = FlattenCubic(p.Points, last, drawPoint(t, "c1"), drawPoint(t, "c2"), drawPoint(t, "c3"), FlattenTol)
		case 2:
			b := drawPoint(t, "arc")
			c, r, start, sweep := BulgeArc(last, b, rapid.Float64Range(0.05, 1.5).Draw(t, "bulge"))
			if r > 0 {
				p.Points = FlattenArc(p.Points, c, orb.Point{r, 0}, orb.Point{0, r}, start, start+sweep, FlattenTol)
			} else { // both ends in one place: a path of that alone would be none
				p.Points = append(p.Points, orb.Point{b[0] + 1, b[1]})
			}
		}
		for len(p.Corners) < len(p.Points)-1 {
			p.Corners = append(p.Corners, false)
		}
		p.Corners = append(p.Corners, true)
	}
	return p
}

// FitArcs: each vertex within tol of the elements, no arc further from a chord than tol and what
// flattening allows, corners kept, the ends met, and not more elements than chords.
func TestFitArcsStaysWithinTolerance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := smoothPath(t)
		tol := ArcFitTol
		els := FitArcs(p, tol)
		if len(els) > p.Segments() {
			t.Fatalf("%d elements for %d chords", len(els), p.Segments())
		}
		fine := Path{Points: []orb.Point{p.Points[0]}}
		ends := []orb.Point{p.Points[0]}
		for _, e := range els {
			from := ends[len(ends)-1]
			if e.Arc {
				r := Dist(from, e.Centre)
				if math.Abs(Dist(e.To, e.Centre)-r) > 1e-6*r {
					t.Fatal("an arc's radii differ")
				}
				start := math.Atan2(from[1]-e.Centre[1], from[0]-e.Centre[0])
				sweep := math.Mod(math.Atan2(e.To[1]-e.Centre[1], e.To[0]-e.Centre[0])-start+4*math.Pi, 2*math.Pi)
				if !e.CCW {
					sweep -= 2 * math.Pi
				}
				fine.Points = FlattenArc(fine.Points, e.Centre, orb.Point{r, 0}, orb.Point{0, r}, start, start+sweep, 1e-5)
			} else {
				fine.Points = append(fine.Points, e.To)
			}
			ends = append(ends, e.To)
		}
		last := p.Points[len(p.Points)-1]
		if p.Closed {
			last = p.Points[0]
		}
		if ends[len(ends)-1] != last {
			t.Fatal("the elements do not end where the path does")
		}
		ix, back := NewIndex(fine), NewIndex(p)
		for i, q := range p.Points {
			if _, n := ix.Nearest(q); n.Dist > tol+2e-5 {
				t.Fatalf("vertex %d lies %g off", i, n.Dist)
			}
			if p.Corner(i) && !slices.Contains(ends, q) {
				t.Fatalf("corner %d is run over", i)
			}
		}
		for _, q := range fine.Points {
			if _, n := back.Nearest(q); n.Dist > 2*tol+FlattenTol+2e-5 {
				t.Fatalf("an element leaves the chords by %g at %v", n.Dist, q)
			}
		}
	})
}

func TestFitArcsFindsWhatWasDrawn(t *testing.T) {
	p := Path{Closed: true, Points: []orb.Point{{0, 0}, {100, 0}}}
	p.Points = FlattenArc(p.Points, orb.Point{100, 30}, orb.Point{30, 0}, orb.Point{0, 30}, -math.Pi/2, math.Pi/2, FlattenTol)
	p.Points = append(p.Points, orb.Point{0, 60})
	p = MarkCorners(p, 0.2)
	els := FitArcs(p, ArcFitTol)
	arcs := 0
	for _, e := range els {
		if e.Arc {
			arcs++
			if Dist(e.Centre, orb.Point{100, 30}) > 0.05 || !e.CCW {
				t.Errorf("an arc round %v", e.Centre)
			}
		}
	}
	if arcs == 0 || len(els) > 7 {
		t.Errorf("%d elements, %d arcs", len(els), arcs)
	}
}

func TestMarkCorners(t *testing.T) {
	rect := Path{Closed: true, Points: []orb.Point{{0, 0}, {100, 0}, {100, 50}, {0, 50}}}
	if got := MarkCorners(rect, 0.5).Corners; slices.Contains(got, false) {
		t.Errorf("a rectangle's corners: %v", got)
	}
	// A rectangle with corners rounded at 0.2 mm, flattened finely: nothing turns sharply.
	var p Path
	p.Closed = true
	for k, c := range []orb.Point{{99.8, 0.2}, {99.8, 49.8}, {0.2, 49.8}, {0.2, 0.2}} {
		a := float64(k-1) * math.Pi / 2
		s, cos := math.Sincos(a)
		p.Points = append(p.Points, Add(c, orb.Point{0.2 * cos, 0.2 * s}))
		p.Points = FlattenArc(p.Points, c, orb.Point{0.2, 0}, orb.Point{0, 0.2}, a, a+math.Pi/2, FlattenTol)
	}
	if got := MarkCorners(p, 0.3).Corners; slices.Contains(got, true) {
		t.Errorf("a rounded rectangle's corners: %v", got)
	}
	open := MarkCorners(Path{Points: []orb.Point{{0, 0}, {10, 0}, {20, 0.1}, {20, 10}}}, 0.5)
	if want := []bool{true, false, true, true}; !slices.Equal(open.Corners, want) {
		t.Errorf("an open line's corners: %v", open.Corners)
	}
}

func TestThinStaysWithinTolerance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := smoothPath(t)
		tol := rapid.SampledFrom([]float64{0.001, 0.05, 2}).Draw(t, "tol")
		q := p.Thin(tol)
		if len(q.Points) > len(p.Points) || len(q.Points) != len(q.Corners) {
			t.Fatal("thinning makes more")
		}
		kept := 0
		for i, pt := range p.Points {
			if n := q.Nearest(pt); n.Dist > tol+1e-9 {
				t.Fatalf("vertex %d lies %g off", i, n.Dist)
			}
			if p.Corner(i) {
				kept++
				if !slices.Contains(q.Points, pt) {
					t.Fatalf("corner %d is gone", i)
				}
			}
		}
		for _, pt := range q.Points {
			if !slices.Contains(p.Points, pt) {
				t.Fatal("a vertex is new")
			}
		}
	})
	line := Path{Points: make([]orb.Point, 100), Corners: make([]bool, 100)}
	for i := range line.Points {
		line.Points[i] = orb.Point{float64(i), 0}
	}
	if got := line.Thin(0.001); len(got.Points) != 2 {
		t.Errorf("a straight line keeps %d points", len(got.Points))
	}
}

func TestContains(t *testing.T) {
	l := Path{Closed: true, Points: []orb.Point{{0, 0}, {10, 0}, {10, 10}, {5, 10}, {5, 5}, {0, 5}}}
	for q, want := range map[orb.Point]bool{
		{1, 1}: true, {7, 7}: true, {2, 7}: false, {5, 7}: true, {0, 0}: true, {10, 3}: true, {10.001, 3}: false, {-1, 5}: false, {-1, 0}: false,
	} {
		if got := l.Contains(q); got != want {
			t.Errorf("%v: %v", q, got)
		}
		if got := l.Reversed().Contains(q); got != want {
			t.Errorf("%v, reversed: %v", q, got)
		}
	}
	if (Path{Points: l.Points}).Contains(orb.Point{1, 1}) {
		t.Error("an open path holds a point")
	}
}
