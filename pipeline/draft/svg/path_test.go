package svg

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"tracewheel/geom"
)

// drawn gives the subpaths of path data, one unit a millimetre, y as written.
func drawn(t testing.TB, d string) []geom.Path {
	t.Helper()
	paths, err := tryDraw(d)
	if err != nil {
		t.Fatalf("%q: %v", d, err)
	}
	return paths
}

func tryDraw(d string) (paths []geom.Path, err error) {
	var p pen
	p.begin(geom.Identity, func(q geom.Path) { paths = append(paths, q) })
	err = drawPath(d, &p, func() bool { return true })
	return paths, err
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// The examples of the path chapter of W3C SVG 1.1 (8.3), their areas and ends by the formulas of
// the circle, the triangle and the Bezier curve at t = 1/2.
func TestPathExamplesOfTheStandard(t *testing.T) {
	tri := drawn(t, "M 100 100 L 300 100 L 200 300 z")
	near(t, "triangle01", tri[0].Area(), 20000, 1e-9)
	if !tri[0].Closed || len(tri[0].Points) != 3 {
		t.Errorf("triangle01: %+v", tri)
	}

	pie := drawn(t, "M300,200 h-150 a150,150 0 1,0 150,-150 z")
	near(t, "arcs01, three quarters", pie[0].Area(), 0.75*math.Pi*150*150, 5)
	pie = drawn(t, "M275,175 v-150 a150,150 0 0,0 -150,150 z")
	near(t, "arcs01, one quarter", pie[0].Area(), 0.25*math.Pi*150*150, 1)

	zig := drawn(t, "M600,350 l 50,-25 a25,25 -30 0,1 50,-25 l 50,-25 a25,50 -30 0,1 50,-25 l 50,-25 a25,75 -30 0,1 50,-25 l 50,-25 a25,100 -30 0,1 50,-25 l 50,-25")
	if last := zig[0].Points[len(zig[0].Points)-1]; geom.Dist(last, orb.Point{1050, 125}) > 1e-9 {
		t.Errorf("arcs01, zigzag ends at %v", last)
	}

	cubic := drawn(t, "M100,200 C100,100 250,100 250,200 S400,300 400,200")[0]
	for _, at := range []orb.Point{{175, 125}, {250, 200}, {325, 275}} {
		near(t, "cubic01", cubic.Nearest(at).Dist, 0, geom.FlattenTol)
	}
	if corner := countCorners(cubic); corner != 2 {
		t.Errorf("cubic01 joins smoothly at its middle; %d corners", corner)
	}
	quad := drawn(t, "M200,300 Q400,50 600,300 T1000,300")[0]
	for _, at := range []orb.Point{{400, 175}, {600, 300}, {800, 425}} {
		near(t, "quad01", quad.Nearest(at).Dist, 0, geom.FlattenTol)
	}
}

func countCorners(p geom.Path) (n int) {
	for i := range p.Points {
		if p.Corner(i) {
			n++
		}
	}
	return n
}

// W3C SVG 1.1, 8.3.8, figure arcs02: a100,50 0 ?,? 100,50 from (125,75) lies on one of two
// ellipses, chosen by the flags.
func TestArcFlags(t *testing.T) {
	for flags, want := range map[string]struct {
		c     orb.Point
		sweep float64 // of the whole ellipse
	}{"0,1": {orb.Point{125, 125}, 0.25}, "0,0": {orb.Point{225, 75}, 0.25}, "1,0": {orb.Point{125, 125}, 0.75}, "1,1": {orb.Point{225, 75}, 0.75}} {
		p := drawn(t, "M 125,75 a100,50 0 "+flags+" 100,50")[0]
		for _, q := range p.Points {
			x, y := (q[0]-want.c[0])/100, (q[1]-want.c[1])/50
			near(t, flags+" on the ellipse", x*x+y*y, 1, 1e-9)
		}
		sector := geom.Path{Points: append([]orb.Point{want.c}, p.Points...)}
		near(t, flags+" sector", sector.Area(), want.sweep*math.Pi*100*50, 5)
	}
}

// The rules of W3C SVG 1.1, F.6.2 and F.6.6, for arcs out of range.
func TestArcOutOfRange(t *testing.T) {
	near(t, "radii too small", drawn(t, "M0 0A1 1 0 0 1 100 0")[0].Length(), 50*math.Pi, 0.05)
	near(t, "radii below 0", drawn(t, "M0 0A-50-50 0 0 1 100 0")[0].Length(), 50*math.Pi, 0.05)
	if p := drawn(t, "M0 0A0 5 0 0 1 100 0")[0]; len(p.Points) != 2 {
		t.Errorf("radius 0 is a straight line: %v", p)
	}
	if p := drawn(t, "M0 0A5 5 0 1 1 0 0L9 9")[0]; len(p.Points) != 2 {
		t.Errorf("an arc to its own start is nothing: %v", p)
	}
	near(t, "tilt modulo 360", drawn(t, "M0 0A60 30 390 0 1 100 0")[0].Length(), drawn(t, "M0 0A60 30 30 0 1 100 0")[0].Length(), 1e-6)
}

// Forms that break hand-written parsers; each pair draws the same.
func TestNumberForms(t *testing.T) {
	for odd, plain := range map[string]string{
		"M10-5.5.5 1L1e1-3,+5 7":                "M 10 -5.5 L 0.5 1 L 10 -3 L 5 7",
		"m10 10 20 0 0 20z":                     "M10 10 L30 10 L30 30 Z",
		"M10,10 20,10 20,20":                    "M10 10L20 10L20 20",
		"M0 0H10 20 30V5 10":                    "M0 0L10 0L20 0L30 0L30 5L30 10",
		"M0 0a20 20 0 0120 20":                  "M0 0a20 20 0 0 1 20 20",
		"M0 0a20 20 0 01-20 20 20 20 0 1020-20": "M0 0a20 20 0 0 1 -20 20 a 20 20 0 1 0 20 -20",
		"M5.5.5 1E+1-2e0":                       "M5.5 0.5L10 -2",
		"M5. 6.L7.,8.":                          "M5 6L7 8",
		"M0 0L10 0L10 10zL5 5":                  "M0 0L10 0L10 10z M0 0L5 5",
		"M0 0L10 0L10 10zl5 5":                  "M0 0L10 0L10 10z M0 0L5 5",
		"M1 1L10 1L10 10zm5 5l1 1":              "M1 1L10 1L10 10z M6 6L7 7",
		"M0 0S10 10 20 0":                       "M0 0C0 0 10 10 20 0",
		"M0 0Q5 9 10 0S15 5 20 0":               "M0 0Q5 9 10 0C10 0 15 5 20 0",
		"M0 0C5 9 9 9 10 0T20 0":                "M0 0C5 9 9 9 10 0Q10 0 20 0",
		"M0,0\n\tL 10\r,\f10":                   "M0 0L10 10",
		"M0 0l.5.5.5-.5":                        "M0 0L.5 .5L1 0",
		"":                                      "",
	} {
		a, b := drawn(t, odd), drawn(t, plain)
		if len(a) != len(b) {
			t.Errorf("%q: %d subpaths, want %d", odd, len(a), len(b))
			continue
		}
		for i := range a {
			if a[i].Closed != b[i].Closed || len(a[i].Points) != len(b[i].Points) {
				t.Errorf("%q: %v, want %v", odd, a[i], b[i])
				continue
			}
			for k := range a[i].Points {
				if geom.Dist(a[i].Points[k], b[i].Points[k]) > 1e-9 {
					t.Errorf("%q: point %d is %v, want %v", odd, k, a[i].Points[k], b[i].Points[k])
				}
			}
		}
	}
}

func TestPathFaults(t *testing.T) {
	for d, want := range map[string]string{
		"L10 10":              "begins with a move",
		"M10":                 "ends where a number",
		"M10 10 L":            "ends where a number",
		"M10 10 X5":           "a command is wanted",
		"M0 0 L10,,10":        "a number is wanted",
		"M0 0 L10 10,":        "after the comma",
		"M0 0 L nan 5":        "a number is wanted",
		"M0 0 L inf 5":        "a number is wanted",
		"M0 0 L 1e999 5":      "a number is wanted",
		"M0 0 L 0x10 5":       "where",
		"M0 0 A5 5 0 2 1 9 9": "arc flag",
		"M0 0 A5 5 0 0 0.5 9": "", // ".5" is the x: a flag is one character
		"M0 0 C1 2 3 4 5":     "ends where a number",
		"M0 0 L10;5 3":        "where",
	} {
		_, err := tryDraw(d)
		if want == "" {
			if err == nil {
				continue
			}
			t.Errorf("%q: %v", d, err)
			continue
		}
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", d, err, want)
		}
	}
}

// A rounded rectangle drawn as a path has no corners; a circle's sector has three.
func TestCorners(t *testing.T) {
	round := drawn(t, "M10 0H90A10 10 0 0 1 100 10V90A10 10 0 0 1 90 100H10A10 10 0 0 1 0 90V10A10 10 0 0 1 10 0Z")[0]
	if n := countCorners(round); n != 0 || !round.Closed {
		t.Errorf("%d corners on a rounded rectangle", n)
	}
	sector := drawn(t, "M0 0H100A100 100 0 0 1 0 100Z")[0]
	if n := countCorners(sector); n != 3 {
		t.Errorf("%d corners on a sector", n)
	}
	mixed := drawn(t, "M0 0L50 0L100 0L100 50C100 90 60 100 0 100Z")[0]
	want := map[orb.Point]bool{{0, 0}: true, {50, 0}: false, {100, 0}: true, {100, 50}: false, {0, 100}: true}
	for i, p := range mixed.Points {
		if w, ok := want[p]; ok && mixed.Corner(i) != w {
			t.Errorf("corner at %v: %v", p, mixed.Corner(i))
		}
	}
}

// An end that misses the start by the rounding of a file closes the outline; a wider gap does not.
func TestClosing(t *testing.T) {
	if p := drawn(t, "M0 0L100 0L100 100L0.03 0.03")[0]; !p.Closed || len(p.Points) != 3 {
		t.Errorf("%v", p)
	}
	if p := drawn(t, "M0 0L100 0L100 100L0.2 0")[0]; p.Closed {
		t.Errorf("%v", p)
	}
	if p := drawn(t, "M0 0L100 0L100 100L0 0Z")[0]; !p.Closed || len(p.Points) != 3 {
		t.Errorf("%v", p)
	}
}

// The endpoint form gives arcs that begin and end where they should and lie on an ellipse of the
// stated shape, whatever the numbers.
func TestArcsAnyhow(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(rt, name) }
		from := orb.Point{f("x1", -100, 100), f("y1", -100, 100)}
		sin, cos := math.Sincos(f("way", 0, 2*math.Pi))
		to := geom.Add(from, geom.Mul(orb.Point{cos, sin}, f("far", 1e-3, 280))) // from a point to itself there is no arc
		rx, ry, tilt := f("rx", 0.1, 200), f("ry", 0.1, 200), f("tilt", -720, 720)
		large, sweep := rapid.Bool().Draw(rt, "large"), rapid.Bool().Draw(rt, "sweep")
		a, ok := arcCentre(from, to, rx, ry, tilt, large, sweep)
		if !ok {
			rt.Fatal("no arc")
		}
		at := func(t float64) orb.Point {
			return geom.Add(a.c, geom.Add(geom.Mul(a.u, math.Cos(t)), geom.Mul(a.v, math.Sin(t))))
		}
		if d := geom.Dist(at(a.start), from) + geom.Dist(at(a.start+a.sweep), to); d > 1e-6 {
			rt.Fatalf("ends off by %v", d)
		}
		if r := geom.Norm(a.u) / geom.Norm(a.v); math.Abs(r/(rx/ry)-1) > 1e-9 {
			rt.Fatalf("shape %v, want %v", r, rx/ry)
		}
		if (a.sweep > 0) != sweep && math.Abs(a.sweep) > 1e-9 {
			rt.Fatalf("sweep %v with flag %v", a.sweep, sweep)
		}
		grown := geom.Norm(a.u) > rx*(1+1e-9) // too small: half an ellipse
		if !grown && (math.Abs(a.sweep) > math.Pi+1e-6) != large && math.Abs(math.Abs(a.sweep)-math.Pi) > 1e-6 {
			rt.Fatalf("sweep %v with large %v", a.sweep, large)
		}
	})
}

// number agrees with the standard library on every number it takes.
func TestNumbersAgainstTheLibrary(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		text := rapid.StringMatching(`[+-]?([0-9]{1,9}\.?[0-9]{0,9}|\.[0-9]{1,17})([eE][+-]?[0-9]{1,2})?`).Draw(rt, "number")
		s := scanner{s: text}
		got, ok := s.number()
		want, err := strconv.ParseFloat(text, 64)
		if !ok || err != nil || got != want || !s.done() {
			rt.Fatalf("%q: %v, want %v", text, got, want)
		}
	})
}
