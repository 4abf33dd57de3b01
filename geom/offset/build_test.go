package offset

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// hemPanel is a piece whose hem ends at (0, 0) coming from the left, with the given inner angle in
// degrees between hem and side: the corner of the worked table.
func hemPanel(inner float64) geom.Path {
	s, c := math.Sincos((180 - inner) * math.Pi / 180)
	return geom.Path{Closed: true, Points: []orb.Point{{-300, 0}, {0, 0}, {c * 300, s * 300}, {-300, 300}}}
}

func hemEdges(kind CornerKind) []Edge {
	return []Edge{{First: 0, From: 40, To: 40}, {First: 1, From: 15, To: 15, Corner: kind},
		{First: 2, From: 10, To: 10}, {First: 3, From: 10, To: 10}}
}

// The worked table of hem corners: corner V = (0, 0), hem direction a = (1, 0), hem p = 40, side
// q = 15; derived from the rules of pattern making (squared: the first seam's ends meet edge to
// edge; mirrored: the hem folded back lies on the side's cut line) by plane trigonometry.
func TestHemCornerTable(t *testing.T) {
	type row struct {
		inner             float64
		mitre, square, up float64 // x of the point at y = -40
		e                 float64 // x of E on the hem line
	}
	for _, r := range []row{
		{80, 22.284, 15.231, 8.178, 15.231}, {90, 15, 15, 15, 15}, {100, 8.178, 15.231, 22.284, 15.231},
	} {
		for kind, x := range map[CornerKind]float64{Mitred: r.mitre, Squared: r.square, Mirrored: r.up} {
			ring := oneRing(t, hemPanel(r.inner), hemEdges(kind), 5)
			if d := nearestVertex(ring, orb.Point{x, -40}); d > 0.001 {
				t.Errorf("inner angle %g, kind %d: no vertex at (%g, -40), nearest %.4f mm off", r.inner, kind, x, d)
			}
			if kind != Mitred && r.inner != 90 {
				if d := nearestVertex(ring, orb.Point{r.e, 0}); d > 0.001 {
					t.Errorf("inner angle %g, kind %d: no vertex at E, nearest %.4f mm off", r.inner, kind, d)
				}
			}
		}
	}
}

// Seen from the other side the same corner gives the mirrored points: the order in which the edges
// run must not matter, only which is sewn or turned first.
func TestHemCornerFromTheOtherSide(t *testing.T) {
	flip := geom.Affine{A: -1, D: 1}
	for _, inner := range []float64{60, 80, 100, 120} {
		for _, kind := range []CornerKind{Mitred, Squared, Mirrored, MitredHem, Stepped, Blunted} {
			want := oneRing(t, hemPanel(inner), hemEdges(kind), 5)
			// Mirrored and reversed: the side's edge now ends at the corner, the hem begins there.
			p := hemPanel(inner).Apply(flip)
			reversePoints(p.Points)
			edges := []Edge{{First: 0, From: 10, To: 10}, {First: 1, From: 15, To: 15},
				{First: 2, From: 40, To: 40, Corner: kind, SewnFirst: true}, {First: 3, From: 10, To: 10}}
			got := oneRing(t, p, edges, 5)
			got.Path = got.Path.Apply(flip)
			if gap := math.Max(largestGap([]geom.Path{got.Path}, []geom.Path{want.Path}), largestGap([]geom.Path{want.Path}, []geom.Path{got.Path})); gap > 1e-6 {
				t.Errorf("inner angle %g, kind %d: %.6f mm apart", inner, kind, gap)
			}
			// And an outline that runs clockwise is the same outline.
			q := hemPanel(inner).Apply(flip)
			got = oneRing(t, q, hemEdges(kind), 5)
			got.Path = got.Path.Apply(flip)
			if gap := largestGap([]geom.Path{got.Path}, []geom.Path{want.Path}); gap > 1e-6 {
				t.Errorf("clockwise, inner angle %g, kind %d: %.6f mm apart", inner, kind, gap)
			}
			if got.Path.SignedArea() > 0 {
				t.Error("the mirrored ring ran counter-clockwise, so the one before did not")
			}
		}
	}
}

// What a mirrored corner is for: the hem folded back along its line lies exactly on the garment
// with its own allowance, for straight, flared, tapered and curved sides.
func TestMirroredHemFoldsOntoTheOtherCutLine(t *testing.T) {
	for _, inner := range []float64{60, 75, 90, 105, 120} {
		for _, bow := range []float64{0, -12, 12} {
			s, c := math.Sincos((180 - inner) * math.Pi / 180)
			side := orb.Point{c * 300, s * 300}
			out := orb.Point{s * bow, -c * bow}
			pts := []orb.Point{{-300, 0}, {0, 0}}
			pts = geom.FlattenQuad(pts, orb.Point{}, geom.Add(geom.Mul(side, 0.5), out), side, geom.FlattenTol)
			third := len(pts) - 1
			pts = append(pts, orb.Point{-300, 300})
			edges := []Edge{{First: 0, From: 40, To: 40}, {First: 1, From: 15, To: 15, Corner: Mirrored},
				{First: third, From: 10, To: 10}, {First: third + 1, From: 10, To: 10}}
			ring := oneRing(t, geom.Path{Points: pts, Closed: true}, edges, 5)
			folded := ring.Path.Apply(geom.Affine{A: 1, D: -1})
			for i, p := range folded.Points {
				// The end of the turned-up part: above the hem line, right of the middle.
				if p[1] < 0.5 || p[1] > 39.99 || p[0] < -150 || ring.Edge[i] == 0 {
					continue
				}
				if n := ring.Path.Nearest(p); n.Dist > 0.01 {
					t.Errorf("inner angle %g, bow %g: folded back, (%.3f, %.3f) lies %.4f mm off the cut line", inner, bow, p[0], p[1], n.Dist)
				}
			}
		}
	}
}

// A mitred hem on a square corner with hems of one width: both mitres lie on the line through the
// corner at 45 degrees, moved out by the seam.
func TestMitredHem(t *testing.T) {
	p := geom.Path{Closed: true, Points: []orb.Point{{-300, 0}, {0, 0}, {0, 300}, {-300, 300}}}
	edges := []Edge{{First: 0, From: 30, To: 30}, {First: 1, From: 30, To: 30, Corner: MitredHem, Seam: 5},
		{First: 2, From: 10, To: 10}, {First: 3, From: 10, To: 10}}
	ring := oneRing(t, p, edges, 5)
	k := 5 * math.Sqrt2
	for _, want := range []orb.Point{{-30 + k, -30}, {30, 30 - k}} {
		if d := nearestVertex(ring, want); d > 1e-6 {
			t.Errorf("no vertex at %v, nearest %.4f mm off", want, d)
		}
	}
	if n := ring.Path.Nearest(orb.Point{5 / math.Sqrt2, -5 / math.Sqrt2}); n.Dist > 1e-6 {
		t.Errorf("the mitre passes the corner %.4f mm off its seam", n.Dist)
	}
	// Any angle, any widths: both seam lines are equally long, or the mitre could not be sewn.
	for _, inner := range []float64{70, 80, 110} {
		edges := hemEdges(MitredHem)
		edges[1].From, edges[1].To, edges[1].Seam = 25, 25, 1e-6
		ring := oneRing(t, hemPanel(inner), edges, 5)
		var lengths []float64
		for i := range ring.Edge {
			if a, b := ring.Path.Segment(i); ring.Edge[i] == -1 && nearOrigin(a) && nearOrigin(b) {
				lengths = append(lengths, geom.Dist(a, b))
			}
		}
		// At a right angle both lines are one, unless the widths differ.
		if len(lengths) != 2 || math.Abs(lengths[0]-lengths[1]) > 1e-5 {
			t.Errorf("inner angle %g: mitre lines of %v mm", inner, lengths)
		}
	}
}

func nearOrigin(p orb.Point) bool { return geom.Norm(p) < 90 }

// The mitre ratio 1 / sin(inner angle / 2), as plotting and page description standards give it for
// line joins (SVG 2, section 13.5.4): at 90 degrees 1.414, 60: 2, 30: 3.864, 20: 5.759.
func TestMitreLimit(t *testing.T) {
	for _, c := range []struct{ inner, ratio float64 }{{90, 1.41421}, {60, 2}, {30, 3.86370}, {20, 5.75877}} {
		s, k := math.Sincos(c.inner * math.Pi / 360)
		p := geom.Path{Closed: true, Points: []orb.Point{{0, 0}, {-400 * k, 400 * s}, {-400 * k, -400 * s}}}
		for _, limit := range []float64{1.2, 2, 5} {
			for _, kind := range []CornerKind{Mitred, Blunted} {
				edges := []Edge{{First: 0, From: 10, To: 10, Corner: kind}, {First: 1, From: 10, To: 10}, {First: 2, From: 10, To: 10}}
				ring := oneRing(t, p, edges, limit)
				want := math.Min(10*c.ratio, 10*limit)
				if got := ring.Path.Bound().Max[0]; math.Abs(got-want) > 1e-3 {
					t.Errorf("inner angle %g, limit %g: reaches %.4f, want %.4f", c.inner, limit, got, want)
				}
			}
		}
		edges := []Edge{{First: 0, From: 10, To: 10, Corner: Blunted, Limit: 1.1}, {First: 1, From: 10, To: 10}, {First: 2, From: 10, To: 10}}
		if got := oneRing(t, p, edges, 5).Path.Bound().Max[0]; math.Abs(got-11) > 1e-9 {
			t.Errorf("inner angle %g, own limit 1.1: reaches %.4f", c.inner, got)
		}
	}
}

// Almost straight, 10 and 15 mm: the meeting point is over 143 mm away, so there is a step at the
// corner, square to the wider seam.
func TestStepWhereAZipBegins(t *testing.T) {
	for _, turn := range []float64{2, 0, -2} {
		s, c := math.Sincos(turn * math.Pi / 180)
		p := geom.Path{Closed: true, Points: []orb.Point{{-300, 0}, {0, 0}, {300 * c, 300 * s}, {0, 400}}}
		for _, kind := range []CornerKind{Mitred, Stepped} {
			edges := []Edge{{First: 0, From: 10, To: 10}, {First: 1, From: 15, To: 15, Corner: kind}, {First: 2, From: 10, To: 10}}
			ring := oneRing(t, p, edges, 5)
			if d := nearestVertex(ring, orb.Point{15 * s, -15 * c}); d > 1e-6 {
				t.Errorf("turn %g: no end of the wide allowance square to the corner, nearest %.4f mm off", turn, d)
			}
			var step float64
			for i := range ring.Edge {
				if a, b := ring.Path.Segment(i); ring.Edge[i] == -1 && geom.Norm(a) < 20 {
					step += geom.Dist(a, b)
				}
			}
			if math.Abs(step-5) > 0.1 {
				t.Errorf("turn %g: a step of %.4f mm, want about 5", turn, step)
			}
		}
	}
}

// Nothing crosses a fold: a half bodice on the fold with a neckline that leaves it at 105 degrees, inner angle.
func TestNothingCrossesTheFold(t *testing.T) {
	s, c := math.Sincos(15 * math.Pi / 180)
	for _, pts := range [][]orb.Point{
		{{0, 0}, {0, -300}, {200, -300}, {c * 100, s * 100}},
		{{0, 0}, {0, -300}, {200, -300}, {c * 100, s * 100}, {c * 2, s * 2}, {c, s}},
	} {
		fold := Edge{First: 0}
		p := geom.Path{Closed: true, Points: pts}
		edges := []Edge{fold, {First: 1, From: 20, To: 20}, {First: 2, From: 10, To: 10}, {First: 3, From: 10, To: 10}}
		ring := oneRing(t, p, edges, 5)
		if x := ring.Path.Bound().Min[0]; x < -1e-9 {
			t.Errorf("the cut line crosses the fold by %.4f mm", -x)
		}
		// On the fold the neck's cut line is 10 / sin 105 above the corner.
		if d := nearestVertex(ring, orb.Point{0, 10 / math.Sin(105*math.Pi/180)}); len(pts) == 4 && d > 1e-6 {
			t.Errorf("the neck meets the fold %.4f mm off", d)
		}
	}
}

// A width that changes evenly: the cut line is straight from one width to the other.
func TestTaper(t *testing.T) {
	p := geom.Path{Closed: true, Points: []orb.Point{{0, 0}, {100, 0}, {200, 0}, {200, 100}, {0, 100}}}
	edges := []Edge{{First: 0, From: 10, To: 20}, {First: 2, From: 20, To: 20}, {First: 3, From: 10, To: 10}, {First: 4, From: 10, To: 10}}
	ring := oneRing(t, p, edges, 5)
	for x, y := range map[float64]float64{0: -10, 50: -12.5, 100: -15, 199: -19.95} {
		if n := ring.Path.Nearest(orb.Point{x, y}); n.Dist > 1e-9 {
			t.Errorf("at x = %g the cut line is %.6f mm off", x, n.Dist)
		}
	}
}

func TestOffsetRefuses(t *testing.T) {
	square := geom.Path{Closed: true, Points: []orb.Point{{0, 0}, {20, 0}, {20, 20}, {0, 20}}}
	for _, c := range []struct {
		p     geom.Path
		edges []Edge
		limit float64
		word  string
	}{
		{geom.Path{Points: square.Points}, []Edge{{From: 1, To: 1}}, 5, "closed"},
		{square, nil, 5, "at least one edge"},
		{square, []Edge{{From: 1, To: 1}}, 0.5, "limit"},
		{square, []Edge{{From: math.NaN(), To: 1}}, 5, "not a number"},
		{square, []Edge{{First: 2, From: 1, To: 1}, {First: 1, From: 1, To: 1}}, 5, "out of order"},
		{square, []Edge{{From: 1, To: 1}, {First: 1, From: -1, To: -1}}, 5, "one after the other"},
		{square, []Edge{{From: 1, To: 1}, {First: 1, From: 1, To: 30}, {First: 2, From: 1, To: 1}}, 5, "make a step"},
		{geom.Path{Closed: true, Points: []orb.Point{{0, 0}, {1, 1}, {2, 2}}}, []Edge{{From: 1, To: 1}}, 5, "no area"},
		{geom.Path{Closed: true, Points: []orb.Point{{0, 0}, {1, math.Inf(1)}, {2, 2}}}, []Edge{{From: 1, To: 1}}, 5, "not a place"},
	} {
		if _, err := Build(c.p, c.edges, c.limit); err == nil || !strings.Contains(err.Error(), c.word) {
			t.Errorf("want a refusal with %q, got %v", c.word, err)
		}
	}
}

// Each stretch knows its edge: where an edge has one width, a stretch that names it is parallel to
// one of its stretches at that width.
func TestStretchesKnowTheirEdge(t *testing.T) {
	p := hemPanel(80)
	for kind := Mitred; kind <= Stepped; kind++ {
		edges := hemEdges(kind)
		ring := oneRing(t, p, edges, 5)
		seen := map[int]bool{}
		for i, e := range ring.Edge {
			seen[e] = true
			if e < 0 {
				continue
			}
			u, v := ring.Path.Segment(i)
			a, b := p.Segment(edges[e].First)
			dir := geom.Unit(geom.Sub(b, a))
			for _, q := range []orb.Point{u, v} {
				if off := -geom.Cross(dir, geom.Sub(q, a)); math.Abs(off-edges[e].From) > 1e-6 {
					t.Errorf("kind %d: a stretch of edge %d lies %.4f mm off it, want %g", kind, e, off, edges[e].From)
				}
			}
		}
		for e := range edges {
			if !seen[e] {
				t.Errorf("kind %d: edge %d is not found in the cut line", kind, e)
			}
		}
	}
}

// A dart mouth or a notch narrower than the allowances disappears; touching exactly it leaves
// neither a sliver nor a hole.
func TestMouthsCloseUp(t *testing.T) {
	for _, mouth := range []float64{12, 19.999999, 20, 20.0000001, 30} {
		p := geom.Path{Closed: true, Points: []orb.Point{{0, 0}, {100, 0}, {100, 80}, {100 + mouth, 80}, {100 + mouth, 0},
			{200 + mouth, 0}, {200 + mouth, 200}, {0, 200}}}
		rings, err := uniform(p, 10, 5)
		if err != nil {
			t.Fatal(err)
		}
		want := 1
		if len(rings) != want {
			t.Errorf("mouth %g: %d rings", mouth, len(rings))
			continue
		}
		area := (220+mouth)*220 - math.Max(0, mouth-20)*80
		if got := rings[0].Path.SignedArea(); math.Abs(got-area) > 0.01 {
			t.Errorf("mouth %g: area %.4f, want %.4f", mouth, got, area)
		}
	}
}

func oneRing(t *testing.T, p geom.Path, edges []Edge, limit float64) Ring {
	t.Helper()
	rings, err := Build(p, edges, limit)
	if err != nil {
		t.Fatal(err)
	}
	if len(rings) != 1 || rings[0].Hole {
		t.Fatal(fmt.Errorf("%d rings, want one", len(rings)))
	}
	return rings[0]
}

func nearestVertex(r Ring, q orb.Point) float64 {
	best := math.Inf(1)
	for _, p := range r.Path.Points {
		best = math.Min(best, geom.Dist(p, q))
	}
	return best
}

// uniform moves every edge of a closed outline outward by d mm, inward where d is negative,
// with mitred corners: a tip up to limit times d from its corner is kept, beyond that the corner
// is cut square to its bisector at that distance. The outline may run either way; see Build for
// what comes back.
func uniform(outline geom.Path, d, limit float64) ([]Ring, error) {
	return Build(outline, []Edge{{From: d, To: d}}, limit)
}
