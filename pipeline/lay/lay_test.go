package lay

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"pgregory.net/rapid"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

func rect(name string, w, h float64) pattern.Ready {
	return pattern.Ready{Name: name, Copy: 1, Copies: 1, Outline: geom.Path{Closed: true, Points: []orb.Point{{0, 0}, {w, 0}, {w, h}, {0, h}}}}
}

// few is a search that ends at once.
var few = Options{Steps: 20, Seed: 1}

// bias reports whether a grain is within a degree of 45.
func bias(r *pattern.Ready) bool {
	v := geom.Sub(r.Grain.B, r.Grain.A)
	return math.Abs(math.Abs(v[0])-math.Abs(v[1])) < 0.02*geom.Norm(v)
}

func withGrain(r pattern.Ready, ax, ay, bx, by float64) pattern.Ready {
	r.Grain = &pattern.Segment{A: orb.Point{ax, ay}, B: orb.Point{bx, by}}
	return r
}

// laid maps the outlines to the material.
func laid(l pattern.Lay, ready []pattern.Ready) []geom.Path {
	var out []geom.Path
	for _, p := range l.Placements {
		out = append(out, ready[p.Ready].Outline.Apply(p.Map))
	}
	return out
}

// mustLieRight checks a lay with a library for plane geometry that shares no code with it: no point of a piece is
// within another, all keep the margin, and any two boundaries keep the gap.
func mustLieRight(t rapid.TB, l pattern.Lay, ready []pattern.Ready) {
	m := l.Material
	pieces := laid(l, ready)
	for i, a := range pieces {
		b := a.Bound()
		if b.Min[0] < m.Margin-0.006 || b.Min[1] < m.Margin-0.006 || b.Max[1] > m.Width-m.Margin+0.006 || b.Max[0] > l.LengthUsed-m.Margin+0.006 {
			t.Fatalf("piece %d at %v leaves the material of %v by %v", i, b, m.Width, l.LengthUsed)
		}
		for k, c := range pieces {
			if k == i {
				continue
			}
			ring := c.Ring()
			if cross(a.Ring(), ring) {
				t.Fatalf("pieces %d and %d cross", i, k)
			}
			for _, p := range a.Points {
				if planar.RingContains(ring, p) && planar.DistanceFrom(orb.LineString(ring), p) > 0.006 {
					t.Fatalf("piece %d lies on piece %d at %v", i, k, p)
				}
				if d := planar.DistanceFrom(orb.LineString(ring), p); d < m.Gap-0.006 {
					t.Fatalf("pieces %d and %d are %v apart, want %v", i, k, d, m.Gap)
				}
			}
		}
	}
}

// cross reports, by the sides of their ends, whether any two segments of two rings cross.
func cross(a, b orb.Ring) bool {
	side := func(p, q, r orb.Point) float64 { return (q[0]-p[0])*(r[1]-p[1]) - (q[1]-p[1])*(r[0]-p[0]) }
	for i := 1; i < len(a); i++ {
		for k := 1; k < len(b); k++ {
			p, q, r, s := a[i-1], a[i], b[k-1], b[k]
			if side(p, q, r)*side(p, q, s) < -1e-3 && side(r, s, p)*side(r, s, q) < -1e-3 {
				return true
			}
		}
	}
	return false
}

func TestNothingOverlaps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := pattern.Material{
			Width: rapid.Float64Range(300, 1500).Draw(t, "width"), Margin: rapid.Float64Range(0, 20).Draw(t, "margin"),
			Gap: rapid.Float64Range(0, 12).Draw(t, "gap"), Cloth: rapid.Bool().Draw(t, "cloth"),
			Nap: pattern.Nap(rapid.SampledFrom(pattern.Naps()).Draw(t, "nap")), FaceDown: rapid.Bool().Draw(t, "face down"),
		}
		var ready []pattern.Ready
		for i := range rapid.IntRange(1, 15).Draw(t, "pieces") {
			x, y := rapid.Float64Range(-500, 500).Draw(t, "x"), rapid.Float64Range(-500, 500).Draw(t, "y")
			r := rect(fmt.Sprint(i), rapid.Float64Range(20, 250).Draw(t, "w"), rapid.Float64Range(20, 250).Draw(t, "h"))
			r.Outline = r.Outline.Apply(geom.Translate(x, y).After(geom.Rotate(rapid.Float64Range(0, 7).Draw(t, "turn"))))
			if rapid.Bool().Draw(t, "grain") {
				r = withGrain(r, 0, 0, rapid.Float64Range(-1, 1).Draw(t, "gx"), 2)
			}
			ready = append(ready, r)
		}
		l, found := OnMachine(t.Context(), ready, m, few)
		if len(found) > 0 != (len(l.Placements) == 0) || len(found) == 0 && len(l.Placements) != len(ready) {
			t.Fatalf("%d placed, %d refused of %d", len(l.Placements), len(found), len(ready))
		}
		mustLieRight(t, l, ready)
		for _, p := range l.Placements {
			checkHand(t, m, p, &ready[p.Ready])
		}
	})
}

// checkHand checks that the map keeps lengths, that the words describe the map, and that the grain is along the
// length.
func checkHand(t *rapid.T, m pattern.Material, p pattern.Placement, r *pattern.Ready) {
	turn := geom.Identity
	if p.Mirrored {
		turn = geom.Scale(-1, 1)
	}
	words := geom.Translate(p.At[0], p.At[1]).After(geom.Rotate(p.RotationDeg * math.Pi / 180)).After(turn)
	for _, q := range r.Outline.Points {
		if d := geom.Dist(words.Apply(q), p.Map.Apply(q)); d > 1e-6 {
			t.Fatalf("words and map are %v apart", d)
		}
	}
	if p.Mirrored != (m.Cloth && m.FaceDown) {
		t.Fatalf("mirrored %v", p.Mirrored)
	}
	if m.Cloth && r.Grain != nil {
		v := geom.Unit(p.Map.Vector(geom.Sub(r.Grain.B, r.Grain.A)))
		if m.Nap != pattern.NapAll && v[0] < 0 {
			v = geom.Mul(v, -1)
		}
		if geom.Dist(v, orb.Point{1, 0}) > 1e-9 && !(m.Nap == pattern.NapNone && bias(r)) {
			t.Fatalf("the grain points to %v", v)
		}
	}
}

// TestEfficiency: pieces of 9.2 m2 on a marker of 1.50 by 7.40 m: 82.88 % (trade check value 39, computed).
func TestEfficiency(t *testing.T) {
	a := rect("A", 7400, 1243.243243)
	l, found := OnMachine(t.Context(), []pattern.Ready{withGrain(a, 0, 0, 100, 0)}, pattern.Material{Width: 1500, Cloth: true}, few)
	if len(found) != 0 || math.Abs(l.LengthUsed-7400) > 1e-9 || math.Abs(100*l.Efficiency-82.88) > 0.005 || math.Abs(Area([]pattern.Ready{a})-9.2e6) > 1 {
		t.Errorf("%v mm, %v, %v", l.LengthUsed, l.Efficiency, found)
	}
}

func TestPaperTurnsAndClothDoesNot(t *testing.T) {
	long := withGrain(rect("LONG", 1200, 400), 0, 100, 0, 300)
	if _, found := OnMachine(t.Context(), []pattern.Ready{long}, pattern.Material{Width: 900}, few); len(found) != 0 {
		t.Errorf("paper: %+v", found)
	}
	_, found := OnMachine(t.Context(), []pattern.Ready{long}, pattern.Material{Width: 900, Cloth: true}, few)
	if len(found) != 1 || found[0].Rule != pattern.RuleTooWide || found[0].Severity != pattern.Error || !strings.Contains(found[0].Message, "400 mm long and 1200 mm wide") {
		t.Errorf("cloth: %+v", found)
	}
	inches := few
	inches.Unit = "in"
	// 36 by 12 in on 30 in: every length in the refusal is in inches.
	long = withGrain(rect("LONG", 914.4, 304.8), 0, 100, 0, 300)
	_, found = OnMachine(t.Context(), []pattern.Ready{long}, pattern.Material{Width: 762, Cloth: true}, inches)
	if len(found) != 1 || found[0].Message != "the piece is 12 in long and 36 in wide and does not fit along its grain: the material takes 30 in across" ||
		found[0].Mend != "take a material at least 36 in wide, or split the piece at a seam" {
		t.Errorf("in inches: %+v", found)
	}
}

func TestFullMaterial(t *testing.T) {
	ready := []pattern.Ready{rect("A", 500, 500), rect("B", 500, 500), rect("C", 500, 500)}
	m := pattern.Material{Width: 1010, Length: 1020, Margin: 5, Gap: 0}
	if l, found := OnMachine(t.Context(), ready, m, few); len(found) != 0 || math.Abs(l.LengthUsed-1010) > 0.01 {
		t.Errorf("%v, %+v", l.LengthUsed, found)
	}
	m.Gap = 11
	l, found := OnMachine(t.Context(), ready, m, few)
	// Two do not fit side by side: 2 x 5 + 3 x 500 + 2 x 11 = 1532 mm in a row.
	if len(found) != 1 || found[0].Index != -1 || len(l.Placements) != 0 || found[0].Rule != pattern.RuleTooShort ||
		!strings.Contains(found[0].Message, "512 mm too short: the pieces take 1532 mm of length, and it has 1020 mm") {
		t.Errorf("%v, %+v", l.LengthUsed, found)
	}
	named := slices.Clone(ready) // the advice is a line that the ticket reader takes
	for i := range named {
		named[i].Name = []string{"cuff: left", "cuff: right", "yoke"}[i]
	}
	if _, found := OnMachine(t.Context(), named, m, few); len(found) != 1 || !strings.Contains(found[0].Mend, `so say pieces: ["cuff: `) {
		t.Errorf("%+v", found)
	}
	inches := few
	inches.Unit = "in"
	// 1532, 1020 and 512 mm are 60.31, 40.157 and 20.16 in; lengths to take are rounded up to 1/8 in.
	if _, found := OnMachine(t.Context(), ready, m, inches); len(found) != 1 || strings.Contains(found[0].Message, "mm") || strings.Contains(found[0].Message, "cm") ||
		!strings.Contains(found[0].Message, "20 1/4 in too short: the pieces take 60 3/8 in of length, and it has 40 ") {
		t.Errorf("%+v", found)
	}
	if l, found := OnMachine(t.Context(), nil, m, few); len(found) != 0 || l.LengthUsed != 0 || l.Efficiency != 0 {
		t.Errorf("nothing to lay: %+v %+v", l, found)
	}
}
