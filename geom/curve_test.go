package geom

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"
)

func drawPoint(t *rapid.T, name string) orb.Point {
	return orb.Point{rapid.Float64Range(-500, 500).Draw(t, name+".x"), rapid.Float64Range(-500, 500).Draw(t, name+".y")}
}

// drawApart is a point at least 1 from another.
func drawApart(t *rapid.T, from orb.Point, name string) orb.Point {
	sin, cos := math.Sincos(rapid.Float64Range(0, 2*math.Pi).Draw(t, name+".way"))
	return Add(from, Mul(orb.Point{cos, sin}, rapid.Float64Range(1, 1000).Draw(t, name+".far")))
}

// checkFlat holds chords against the true curve sampled densely: every sample within tol of the
// chords, every vertex on the curve.
func checkFlat(t *rapid.T, start orb.Point, chords []orb.Point, at func(s float64) orb.Point, tol float64) {
	p := Path{Points: append([]orb.Point{start}, chords...)}
	ix := NewIndex(p)
	const samples = 2000
	curve := Path{}
	for i := range samples + 1 {
		q := at(float64(i) / samples)
		curve.Points = append(curve.Points, q)
		if _, n := ix.Nearest(q); n.Dist > tol*(1+1e-6)+1e-9 {
			t.Fatalf("at %g the curve leaves the chords by %g", float64(i)/samples, n.Dist)
		}
	}
	if Dist(chords[len(chords)-1], at(1)) > 1e-9 {
		t.Fatal("the chords do not end where the curve does")
	}
}

func TestFlattenStaysWithinTolerance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p0, p1, p2, p3 := drawPoint(t, "p0"), drawPoint(t, "p1"), drawPoint(t, "p2"), drawPoint(t, "p3")
		tol := rapid.SampledFrom([]float64{0.005, 0.05, 1}).Draw(t, "tol")
		checkFlat(t, p0, FlattenCubic(nil, p0, p1, p2, p3, tol), func(s float64) orb.Point {
			u := 1 - s // the Bernstein form, not the halving under test
			return Add(Add(Mul(p0, u*u*u), Mul(p1, 3*u*u*s)), Add(Mul(p2, 3*u*s*s), Mul(p3, s*s*s)))
		}, tol)
		checkFlat(t, p0, FlattenQuad(nil, p0, p1, p2, tol), func(s float64) orb.Point {
			u := 1 - s
			return Add(Mul(p0, u*u), Add(Mul(p1, 2*u*s), Mul(p2, s*s)))
		}, tol)
		t0 := rapid.Float64Range(-7, 7).Draw(t, "t0")
		t1 := t0 + rapid.Float64Range(-6.28, 6.28).Draw(t, "sweep")
		ellipse := func(s float64) orb.Point {
			sin, cos := math.Sincos(t0 + (t1-t0)*s)
			return Add(p0, Add(Mul(p1, cos), Mul(p2, sin)))
		}
		checkFlat(t, ellipse(0), FlattenArc(nil, p0, p1, p2, t0, t1, tol), ellipse, tol)
	})
}

func TestFlattenBroken(t *testing.T) {
	nan := math.NaN()
	for _, x := range []float64{nan, math.Inf(1), 1e300} {
		p := orb.Point{x, 1}
		for name, n := range map[string]int{
			"cubic": len(FlattenCubic(nil, orb.Point{}, p, p, orb.Point{1, 1}, 0.005)),
			"quad":  len(FlattenQuad(nil, orb.Point{}, p, orb.Point{1, 1}, 0.005)),
			"arc":   len(FlattenArc(nil, orb.Point{}, p, orb.Point{1, 1}, 0, 6, 0.005)),
		} {
			if n < 1 || n > maxChords {
				t.Errorf("%s with %g: %d chords", name, x, n)
			}
		}
	}
}

// The DXF reference's definition of a bulge, tan(sweep / 4), and its sagitta, |b| c / 2.
func TestBulgeArc(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := drawPoint(t, "a")
		b := drawApart(t, a, "b")
		bulge := rapid.SampledFrom([]float64{-1, 1}).Draw(t, "side") * rapid.Float64Range(1e-3, 3).Draw(t, "bulge")
		c, r, start, sweep := BulgeArc(a, b, bulge)
		if math.Abs(math.Tan(sweep/4)-bulge) > 1e-9 {
			t.Fatalf("a sweep of %g has not the bulge %g", sweep, bulge)
		}
		on := func(k float64) orb.Point {
			s, cos := math.Sincos(start + k*sweep)
			return Add(c, Mul(orb.Point{cos, s}, r))
		}
		if Dist(on(0), a) > 1e-7*r || Dist(on(1), b) > 1e-7*r {
			t.Fatal("the arc does not run from a to b")
		}
		right := Mul(Left(Unit(Sub(b, a))), -1)
		if sag := Dot(Sub(on(0.5), Lerp(a, b, 0.5)), right); math.Abs(sag-bulge*Dist(a, b)/2) > 1e-7*r {
			t.Fatalf("sagitta %g, want %g", sag, bulge*Dist(a, b)/2)
		}
	})
	if _, r, _, sweep := BulgeArc(orb.Point{}, orb.Point{1, 0}, 1e-10); r != 0 || sweep != 0 {
		t.Error("a bulge of 1e-10 is not straight")
	}
}

// Lengths known in closed form: a straight cubic; a parabola's arc, from a table of integrals
// (y = x^2 from 0 to 1: sqrt(5)/2 + asinh(2)/4); a cusp x = t^2, y = t^3 (Neile's parabola,
// (13 sqrt(13) - 8) / 27).
func TestCubicLength(t *testing.T) {
	for name, c := range map[string]struct {
		p    [4]orb.Point
		want float64
	}{
		"straight": {[4]orb.Point{{0, 0}, {1, 0}, {2, 0}, {3, 4}}, 0},
		"line":     {[4]orb.Point{{0, 0}, {1, 1}, {5, 5}, {30, 30}}, 30 * math.Sqrt2},
		"parabola": {[4]orb.Point{{0, 0}, {1. / 3, 0}, {2. / 3, 1. / 3}, {1, 1}}, math.Sqrt(5)/2 + math.Asinh(2)/4},
		"cusp":     {[4]orb.Point{{0, 0}, {0, 0}, {1. / 3, 0}, {1, 1}}, (13*math.Sqrt(13) - 8) / 27},
	} {
		if c.want == 0 {
			continue
		}
		if got := CubicLength(c.p[0], c.p[1], c.p[2], c.p[3]); math.Abs(got-c.want) > 1e-9*c.want {
			t.Errorf("%s: %.15g, want %.15g", name, got, c.want)
		}
	}
}

// A nearly straight curve that runs backward for its first 0.0024 mm, where no rule of a few points
// looks; the length by Simpson's rule with four million steps.
func TestCubicLengthSeesAShortTurn(t *testing.T) {
	got := CubicLength(orb.Point{0, 0.5}, orb.Point{2e-22, -0.57861328125},
		orb.Point{-0.050067394971847534, 370.01953125}, orb.Point{-0.11998678675597552 - 2e-7, 0})
	if want := 328.191016053; math.Abs(got-want) > 1e-9*want {
		t.Errorf("%.12g, want %.12g", got, want)
	}
}

func TestCubicParts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p0, p1, p2, p3 := drawPoint(t, "p0"), drawPoint(t, "p1"), drawPoint(t, "p2"), drawPoint(t, "p3")
		k := rapid.Float64Range(0, 1).Draw(t, "t")
		a, b := SplitCubic(p0, p1, p2, p3, k)
		whole := CubicLength(p0, p1, p2, p3)
		la, lb := CubicLength(a[0], a[1], a[2], a[3]), CubicLength(b[0], b[1], b[2], b[3])
		if math.Abs(la+lb-whole) > 2e-9*whole {
			t.Fatalf("parts of %.12g and %.12g, whole %.12g", la, lb, whole)
		}
		if at := CubicAtLength(p0, p1, p2, p3, la); Dist(CubicAt(p0, p1, p2, p3, at), a[3]) > 1e-8*(1+whole) {
			t.Fatalf("%.9g mm along is at t = %.9g, want %.9g", la, at, k)
		}
		chords := Path{Points: append([]orb.Point{p0}, FlattenCubic(nil, p0, p1, p2, p3, 1e-4)...)}
		// Simpson's rule with so many steps that a cusp inside one of them does not matter.
		const steps = 100000
		fine := (Norm(CubicDir(p0, p1, p2, p3, 0)) - Norm(CubicDir(p0, p1, p2, p3, 1))) / (6 * steps)
		for k := range steps {
			mid, end := (float64(k)+0.5)/steps, float64(k+1)/steps
			fine += (4*Norm(CubicDir(p0, p1, p2, p3, mid)) + 2*Norm(CubicDir(p0, p1, p2, p3, end))) / (6 * steps)
		}
		if math.Abs(fine-whole) > 2e-9*whole {
			t.Fatalf("length %.12g, in fine steps %.12g", whole, fine)
		}
		if l := chords.Length(); l > whole*(1+1e-9) || whole-l > 1e-3*(1+whole) {
			t.Fatalf("chords of %.9g mm, curve of %.9g mm", l, whole)
		}
		d := CubicDir(p0, p1, p2, p3, k)
		h := 1e-6
		q := Mul(Sub(CubicAt(p0, p1, p2, p3, k+h), CubicAt(p0, p1, p2, p3, k-h)), 1/(2*h))
		if Dist(d, q) > 1e-3*(1+Norm(d)) {
			t.Fatalf("direction %v, differences %v", d, q)
		}
	})
}

func TestMeetings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, c := drawPoint(t, "a"), drawPoint(t, "c")
		b, d := drawApart(t, a, "b"), drawApart(t, c, "d")
		r := rapid.Float64Range(0, 700).Draw(t, "r")
		s := rapid.Float64Range(0, 700).Draw(t, "s")
		if at, k, l, ok := MeetLines(a, Sub(b, a), c, Sub(d, c)); ok && Norm(at) < 1e6 {
			if Dist(at, Lerp(a, b, k)) > 1e-6 || Dist(at, Lerp(c, d, l)) > 1e-4 {
				t.Fatalf("%v is not on both lines", at)
			}
		}
		u := Unit(Sub(b, a))
		for _, p := range MeetLineCircle(a, b, c, r) {
			if math.Abs(Dist(p, c)-r) > 1e-6 || math.Abs(Cross(u, Sub(p, a))) > 1e-6 {
				t.Fatalf("%v is not on line and circle", p)
			}
		}
		far := math.Abs(Cross(u, Sub(c, a)))
		if n := len(MeetLineCircle(a, b, c, r)); far < r-1e-6 && n != 2 || far > r+1e-6 && n != 0 {
			t.Fatalf("%d meetings of a line %g from the centre of a circle of %g", n, far, r)
		}
		for _, p := range MeetCircles(a, r, b, s) {
			if math.Abs(Dist(p, a)-r) > 1e-5 || math.Abs(Dist(p, b)-s) > 1e-5 {
				t.Fatalf("%v is not on both circles", p)
			}
		}
		if o, rad, ok := Circle(a, b, c); ok && rad < 1e5 && Dist(b, c) > 1e-3 && Dist(a, c) > 1e-3 {
			for _, p := range []orb.Point{a, b, c} {
				if math.Abs(Dist(p, o)-rad) > 1e-6*rad {
					t.Fatalf("%v is not on the circle", p)
				}
			}
		}
	})
	// A 3-4-5 triangle, and touching.
	if p := MeetCircles(orb.Point{}, 3, orb.Point{5, 0}, 4); len(p) != 2 || Dist(p[0], orb.Point{1.8, 2.4}) > 1e-12 {
		t.Errorf("circles of 3 and 4, 5 apart, meet at %v", p)
	}
	if p := MeetCircles(orb.Point{}, 3, orb.Point{5, 0}, 2); len(p) != 1 || Dist(p[0], orb.Point{3, 0}) > 1e-12 {
		t.Errorf("touching circles meet at %v", p)
	}
	if p := MeetLineCircle(orb.Point{-9, 2}, orb.Point{0, 2}, orb.Point{}, 2); len(p) != 1 {
		t.Errorf("a tangent meets its circle at %v", p)
	}
}

func TestAffineInverse(t *testing.T) {
	maps := rapid.Custom(func(t *rapid.T) Affine {
		f := rapid.Float64Range(-20, 20)
		return Affine{f.Draw(t, "a"), f.Draw(t, "b"), f.Draw(t, "c"), f.Draw(t, "d"), f.Draw(t, "e"), f.Draw(t, "f")}
	}).Filter(func(m Affine) bool { return math.Abs(m.Det()) >= 1e-3 })
	rapid.Check(t, func(t *rapid.T) {
		m := maps.Draw(t, "map")
		p := drawPoint(t, "p")
		inv, ok := m.Inverse()
		if !ok {
			t.Fatal("no inverse")
		}
		if q := inv.Apply(m.Apply(p)); Dist(p, q) > 1e-6*1000 {
			t.Fatalf("%v comes back as %v", p, q)
		}
		if q := inv.After(m).Apply(p); Dist(p, q) > 1e-6*1000 {
			t.Fatalf("%v comes back as %v", p, q)
		}
	})
	if _, ok := (Affine{A: 1, B: 2, C: 2, D: 4}).Inverse(); ok {
		t.Error("a map onto a line has an inverse")
	}
	if p := Rotate(math.Pi / 2).Apply(orb.Point{1, 2}); p != (orb.Point{-2, 1}) {
		t.Errorf("a quarter turn takes (1, 2) to %v", p)
	}
	if p := MirrorLine(orb.Point{0, 1}, orb.Point{1, 2}).Apply(orb.Point{0, 2}); Dist(p, orb.Point{1, 1}) > 1e-12 {
		t.Errorf("mirrored in y = x + 1, (0, 2) is at %v", p)
	}
}
