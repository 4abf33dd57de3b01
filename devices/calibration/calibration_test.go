package calibration

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

func squareOf(size float64, bottom, right, top, left, rising, falling float64) Square {
	return Square{Width: size, Height: size, Readings: map[Side][]float64{Bottom: {bottom}, Right: {right},
		Top: {top}, Left: {left}, Rising: {rising}, Falling: {falling}}}
}

// TestHandbookFigures: common practice and arithmetic. A square of 100 that measures 99.2 needs the factor 1.008065
// (7.36 mm on 920), one of 500 that measures 498.6 needs 1.002808; diagonals of 500 mm that differ by 1 mm are a shear
// of 0.0810 degrees, 0.707 mm a side.
func TestHandbookFigures(t *testing.T) {
	for _, c := range []struct{ size, read, factor float64 }{{100, 99.2, 1.008065}, {500, 498.6, 1.002808}} {
		d := c.read * math.Sqrt2
		r, err := Solve(Measured{Squares: []Square{squareOf(c.size, c.read, c.read, c.read, c.read, d, d)}, Graduation: 0.1})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(r.Correction.ScaleX-c.factor) > 5e-7 || math.Abs(r.Correction.ScaleY-c.factor) > 5e-7 || math.Abs(r.Correction.Skew) > 1e-9 {
			t.Errorf("%v reads %v: %+v, want %v", c.size, c.read, r.Correction, c.factor)
		}
	}
	if e := 920 * (1.008065 - 1) / 1.008065; math.Abs(e-7.36) > 0.005 {
		t.Errorf("7.36 mm on 920, not %.3f", e)
	}
	d := 500 * math.Sqrt2
	r, err := Solve(Measured{Squares: []Square{squareOf(500, 500, 500, 500, 500, d+0.5, d-0.5)}, Graduation: 0.1})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(Degrees(r.Shear)-0.0810) > 5e-5 || math.Abs(500*math.Sin(r.Shear)-0.707) > 5e-4 {
		t.Errorf("a shear of %.5f degrees, %.4f mm a side", Degrees(r.Shear), 500*math.Sin(r.Shear))
	}
}

// TestDiagonals: computed, 100, 500 and 900 by 600 have diagonals of 141.421, 707.107 and 1081.665.
func TestDiagonals(t *testing.T) {
	for _, c := range [][3]float64{{100, 100, 141.421}, {500, 500, 707.107}, {900, 600, 1081.665}} {
		if d := (Square{Width: c[0], Height: c[1]}).Nominal(Rising); math.Abs(d-c[2]) > 5e-4 {
			t.Errorf("%v by %v: %.4f", c[0], c[1], d)
		}
	}
}

// TestRollLines: computed, a creep of 0.1 % is 5 mm on 5 m; 2 mm between two lines 900 mm apart are a turn of the roll
// by 0.127 degrees.
func TestRollLines(t *testing.T) {
	l := &LongLine{Length: 5000, Apart: 900, Graduation: 1, Readings: map[Side][]float64{
		LowLine: {5004}, HighLine: {5006}, StartApart: {900}, EndApart: {900}}}
	r, err := Solve(Measured{Long: l, Graduation: 1})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(r.Roll.Creep-0.001) > 1e-9 || math.Abs(Degrees(r.Roll.Turn)-0.127) > 5e-4 {
		t.Errorf("%+v", *r.Roll)
	}
	if math.Abs(r.Correction.ScaleX-1/1.001) > 1e-9 || r.SquareKnown {
		t.Errorf("%+v", r)
	}
}

// TestSense checks that each kind of mistaken reading is named.
func TestSense(t *testing.T) {
	d := 500 * math.Sqrt2
	rect := Square{Width: 1000, Height: 500, Readings: map[Side][]float64{Bottom: {500}, Right: {1000}, Top: {500}, Left: {1000}}}
	flat := Square{Width: 900, Height: 100, Readings: map[Side][]float64{Bottom: {850}, Right: {95}, Top: {850}, Left: {95}, Rising: {960}, Falling: {850}}}
	for name, c := range map[string]struct {
		s    Square
		want string
	}{
		"triangle":     {flat, "bottom 850, right 95 and rising 960 mm make no triangle"},
		"inches":       {squareOf(500, 19.68, 500, 500, 500, d, d), "that is the size in inches; write 499.9 mm"},
		"mm as inches": {squareOf(500, 12700, 500, 500, 500, d, d), "25.4 times too much"},
		"centimetres":  {squareOf(500, 50.1, 500, 500, 500, d, d), "a slip of ten"},
		"ten":          {squareOf(500, 500, 490.2, 500, 500, d, d), "right reads 490.2 mm: a slip of ten?"},
		"opposite":     {squareOf(500, 500, 500, 516, 500, d, d), "bottom and top read 500 and 516 mm, and no scale makes opposite sides differ"},
		"swapped":      {squareOf(500, 707, 500, 500, 500, 500, d), "bottom and rising look swapped"},
		"width":        {rect, "width and height look swapped"},
		"nowhere":      {squareOf(500, 900, 500, 500, 500, d, d), "nowhere near"},
		"a tenth off":  {squareOf(500, 555, 555, 555, 555, d*1.11, d*1.11), "bottom reads 555 mm: that is nowhere near the 500 mm it should be"},
		"none":         {squareOf(500, -1, 500, 500, 500, d, d), "that is no length"},
	} {
		_, err := Solve(Measured{Squares: []Square{c.s}, Graduation: 0.5})
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
	only := Square{Width: 500, Height: 500, Readings: map[Side][]float64{Bottom: {500}}}
	if _, err := Solve(Measured{Squares: []Square{only}, Graduation: 1}); err == nil || !strings.Contains(err.Error(), "do not fix both scales") {
		t.Errorf("one side alone: %v", err)
	}
}

// TestBounds: common practice, above 0.5 % a person is asked, above 2 % nothing is recorded; ratios with a usual cause
// are named below that too.
func TestBounds(t *testing.T) {
	at := func(k float64) (Result, error) {
		s, d := 500*k, 500*k*math.Sqrt2
		return Solve(Measured{Squares: []Square{squareOf(500, s, s, s, s, d, d)}, Graduation: 0.1})
	}
	for _, c := range []struct {
		k           float64
		doubts      int
		hint        string
		refused     bool
		explanation string
	}{
		{1.0049, 0, "", false, "a little"},
		{1.0051, 2, "", false, "a doubt for each axis"},
		{1.016, 2, "1.016", false, "named inside the window"},
		{1 / 1.016, 2, "1.016", false, "its inverse too"},
		{1.021, 0, "", true, "too much"},
		{0.955, 0, "fits a plot to the page", true, "page fit"},
	} {
		r, err := at(c.k)
		if (err != nil) != c.refused || !c.refused && len(r.Doubts) != c.doubts {
			t.Errorf("%s: %v, %q", c.explanation, err, r.Doubts)
		}
		if !strings.Contains(strings.Join(r.Hints, "; "), c.hint) || c.hint == "" && len(r.Hints) > 0 {
			t.Errorf("%s: hints %q", c.explanation, r.Hints)
		}
	}
	if usualCause(25.3) == "" || usualCause(1/25.5) == "" || usualCause(1.05) == "" || usualCause(1.005) != "" {
		t.Error("tell-tales")
	}
}

// Readings that contradict each other are refused, even if a person wants them recorded: the one that deviates is
// named, or all of them. A correction that is smaller than its uncertainty is refused too. The parallelogram law:
// sides of 500 mm have diagonals of 707.1 mm in the mean.
func TestContradictions(t *testing.T) {
	d := 500 * math.Sqrt2
	few := func(bottom, top float64) Square {
		return Square{Width: 500, Height: 500, Readings: map[Side][]float64{Bottom: {bottom}, Top: {top}, Left: {500}, Right: {500}}}
	}
	for _, c := range []struct {
		what string
		s    Square
		grad float64
		want string // "" if accepted
	}{
		{"sides and diagonals", squareOf(500, 500, 500, 500, 500, 720, 720), 0.5, "square 1: its readings contradict each other: sides of 500 and 500 mm have diagonals of about 707.1 mm, and 720 mm was read"},
		{"one side", squareOf(500, 500, 500, 504.5, 500, d, d), 0.5, "square 1, top: 504.5 mm lies "},
		{"by less than they scatter", squareOf(500, 498.5, 500, 500.5, 500, d, d), 0.5, ""},
		{"two sides, sure of nothing", few(500, 502.5), 0.5, "bottom and top read 500 and 502.5 mm, and no scale makes opposite sides differ: it lay bent or slipped"},
		{"a bent sheet, its diagonals read", squareOf(100, 100, 100, 100.8, 100, math.Hypot(100.4, 100), math.Hypot(100.4, 100)), 0.05, "bottom and top read 100 and 100.8 mm, and no scale makes opposite sides differ"},
		{"a ruler of 10 mm", squareOf(500, 503, 503, 503, 503, 711.3, 711.3), 10, "y is off by 0.60 % and these readings are sure to"},
		{"true as far as can be read", squareOf(500, 500, 500, 500.5, 500, 707, 707), 0.5, ""},
		{"off and sure", squareOf(500, 502, 502, 502, 502, 710, 710), 0.5, ""},
	} {
		r, err := Solve(Measured{Squares: []Square{c.s}, Graduation: c.grad})
		if got := fmt.Sprint(err); c.want == "" && err != nil || !strings.Contains(got, c.want) {
			t.Errorf("%s: %v; %v, want %q", c.what, r, err, c.want)
		}
	}
}

// Readings that show almost no error are a doubt where their uncertainty is above 1 mm on 500 mm; below it there is
// nothing to correct. Half a mark is 0.08 % of 300 mm where the ruler is read to 0.5 mm, and 0.8 % where it is read to
// 5 mm.
func TestReadingsThatTellNothingAreADoubt(t *testing.T) {
	d := 300 * math.Sqrt2
	sides := Square{Width: 300, Height: 300, Readings: map[Side][]float64{Bottom: {300}, Right: {300.1}, Top: {300}, Left: {300.1}}}
	for _, c := range []struct {
		what   string
		s      Square
		grad   float64
		doubts []string
	}{
		{"a ruler of 5 mm", sides, 5, []string{"x is off by 0.00 % and these readings are sure to 0.", "y is off by 0.03 % and these readings are sure to 0."}},
		{"with diagonals too", squareOf(300, 300, 300, 300, 300, d, d), 5, []string{"x is off by", "y is off by", "the corners are off square by 0.00 degrees and"}},
		{"a ruler of half a millimetre", sides, 0.5, nil},
		{"with diagonals, half a millimetre", squareOf(300, 300, 300, 300, 300, d, d), 0.5, nil},
	} {
		r, err := Solve(Measured{Squares: []Square{c.s}, Graduation: c.grad})
		if err != nil || len(r.Doubts) != len(c.doubts) {
			t.Errorf("%s: %v, doubts %q, want %q", c.what, err, r.Doubts, c.doubts)
			continue
		}
		for i, want := range c.doubts {
			if !strings.Contains(r.Doubts[i], want) {
				t.Errorf("%s: doubt %q, want %q", c.what, r.Doubts[i], want)
			}
		}
	}
}

// A reading is judged as soon as it is entered, beside earlier readings of the same length.
func TestSlipAtOnce(t *testing.T) {
	m := Measured{Squares: []Square{squareOf(500, 500, 500, 510.4, 560, 707, 707)}, Long: &LongLine{Length: 3000, Apart: 800, Readings: map[Side][]float64{LowLine: {3400}}}}
	for _, c := range []struct {
		square int
		side   Side
		want   string
	}{{0, Top, "a slip of ten?"}, {0, Left, "nowhere near"}, {0, Bottom, ""}, {-1, LowLine, "nowhere near"}, {-1, HighLine, ""}} {
		if _, text := m.Slip(c.square, c.side); c.want == "" && text != "" || !strings.Contains(text, c.want) {
			t.Errorf("%s: %q, want %q", c.side, text, c.want)
		}
	}
}

// TestCompose: composing corrections agrees with composing their maps.
func TestCompose(t *testing.T) {
	a := devices.Correction{ScaleX: 1.01, ScaleY: 0.99, Skew: 0.004}
	b := devices.Correction{ScaleX: 0.995, ScaleY: 1.003, Skew: -0.002}
	of := func(c devices.Correction) geom.Affine { return geom.Affine{A: c.ScaleX, C: c.Skew, D: c.ScaleY} }
	ab, want := of(Compose(a, b)), of(a).After(of(b))
	if math.Abs(ab.A-want.A)+math.Abs(ab.C-want.C)+math.Abs(ab.D-want.D) > 1e-15 {
		t.Errorf("%+v, want %+v", ab, want)
	}
	one := Compose(a, Inverse(a))
	if math.Abs(one.ScaleX-1)+math.Abs(one.ScaleY-1)+math.Abs(one.Skew) > 1e-15 || Compose(devices.Correction{}, a) != a {
		t.Errorf("%+v", one)
	}
}

// machine is a simulated device, its error as a map; drawn is what it makes of a wanted vector.
type machine struct{ m geom.Affine }

func newMachine(rng *rand.Rand) machine {
	off := func(by float64) float64 { return by * (2*rng.Float64() - 1) }
	turn := geom.Rotate(off(0.01)) // the square may lie rotated on the material: a ruler does not show it
	return machine{turn.After(geom.Affine{A: 1 + off(0.01), B: 0, C: off(0.008), D: 1 + off(0.01)})}
}

// read measures a square as a person does: to the nearest mark, with an error of the hand of a quarter mark.
func (m machine) read(rng *rand.Rand, c devices.Correction, size, graduation float64, times int) Square {
	c = unit(c)
	d := m.m.After(geom.Affine{A: c.ScaleX, C: c.Skew, D: c.ScaleY})
	s := Square{Width: size, Height: size, Readings: map[Side][]float64{}}
	for _, side := range SquareSides {
		v := map[Side][2]float64{Bottom: {size, 0}, Top: {size, 0}, Left: {0, size}, Right: {0, size},
			Rising: {size, size}, Falling: {size, -size}}[side]
		at := d.Vector(v)
		for range times {
			l := math.Hypot(at[0], at[1]) + graduation/4*rng.NormFloat64()
			s.Readings[side] = append(s.Readings[side], graduation*math.Round(l/graduation))
		}
	}
	return s
}

// left is the error that remains with a correction in force: scales and shear in radians.
func (m machine) left(c devices.Correction) (x, y, shear float64) {
	c = unit(c)
	d := m.m.After(geom.Affine{A: c.ScaleX, C: c.Skew, D: c.ScaleY})
	u, v := d.Vector([2]float64{1, 0}), d.Vector([2]float64{0, 1})
	lu, lv := math.Hypot(u[0], u[1]), math.Hypot(v[0], v[1])
	return lu - 1, lv - 1, math.Asin((u[0]*v[0] + u[1]*v[1]) / (lu * lv))
}

// TestOneRound corrects simulated devices with one round of readings, and checks the stated uncertainty against the
// true error. Each side is read twice.
func TestOneRound(t *testing.T) {
	for _, c := range []struct{ size, graduation, scale, degrees float64 }{
		{500, 0.5, 0.0005, 0.05}, {1000, 0.2, 0.0002, 0.05},
	} {
		seed := rand.Uint64()
		rng := rand.New(rand.NewPCG(seed, 1))
		good, sureX, sureY, sureS := 0, 0, 0, 0
		const trials = 100
		for range trials {
			m := newMachine(rng)
			before := devices.Correction{ScaleX: 1 + 0.004*(rng.Float64()-0.5), ScaleY: 1 + 0.004*(rng.Float64()-0.5), Skew: 0.004 * (rng.Float64() - 0.5)}
			r, err := Solve(Measured{Squares: []Square{m.read(rng, before, c.size, c.graduation, 2)}, Graduation: c.graduation, InForce: before})
			if err != nil {
				t.Fatalf("seed %d: %v", seed, err)
			}
			x, y, s := m.left(r.Correction)
			if math.Abs(x) <= c.scale && math.Abs(y) <= c.scale && math.Abs(Degrees(s)) <= c.degrees {
				good++
			}
			tx, ty, ts := m.left(before)
			sureX += covers(r.ScaleX-1, tx, r.X)
			sureY += covers(r.ScaleY-1, ty, r.Y)
			sureS += covers(r.Shear, ts, r.Square)
		}
		t.Logf("%.0f mm read to %.1f (seed %d): %d of %d within %.2f %% and %.2f degrees; the truth inside the uncertainty %d (x), %d (y), %d (square)",
			c.size, c.graduation, seed, good, trials, 100*c.scale, c.degrees, sureX, sureY, sureS)
		if min(good, sureX, sureY, sureS) < 95 {
			t.Errorf("seed %d: %d brought in, %d, %d, %d covered; 95 of 100 are wanted", seed, good, sureX, sureY, sureS)
		}
	}
}

func covers(found, truth float64, u Uncertainty) int {
	if math.Abs(found-truth) <= u.Wide {
		return 1
	}
	return 0
}

// TestWish: a reading to 0.5 mm is off by at most 0.25, so that 500 mm have an uncertainty of about 0.05 %; the same
// with whole millimetres needs 1000 mm.
func TestWish(t *testing.T) {
	w, ok := Wish(Ways(2000, false), 0.0006)
	if !ok || w.Size != 1000 || w.Graduation != 1 {
		t.Errorf("%+v %v", w, ok)
	}
	w, ok = Wish(Ways(500, false), 0.0006)
	if !ok || w.Size != 500 || w.Graduation != 0.5 {
		t.Errorf("on a small machine: %+v %v", w, ok)
	}
	// 1/32 in is read to 1/64; on 20 in that is 1/1280, and two sides of each kind are read.
	w, ok = Wish(Ways(600, true), 0.0008)
	if !ok || w.Size != 20*25.4 || w.Graduation != 25.4/32 {
		t.Errorf("with a ruler of inches: %+v %v", w, ok)
	}
	if _, ok := Wish(Ways(100, false), 1e-6); ok {
		t.Error("a millionth by a ruler")
	}
}

// TestPlacesLieApart: common practice, squares are at both ends of the width. Whatever their size and the reach,
// squares do not overlap and lie within reach.
func TestPlacesLieApart(t *testing.T) {
	placed := 0
	for _, reach := range [][2]float64{{0, 914}, {1600, 1000}, {594, 420}} {
		for size := 100.0; size <= 900; size += 50 {
			for n := 1; n <= 5; n++ {
				ps, err := Places(n, size, size, reach[0], reach[1], 10)
				if err != nil {
					continue
				}
				placed++
				for i, a := range ps {
					if a[0] < 10 || a[1] < 10 || a[1]+size > reach[1]-10 || reach[0] > 0 && a[0]+size > reach[0]-10 {
						t.Errorf("%d of %.0f mm on %v: one lies at %v", n, size, reach, a)
					}
					for _, b := range ps[:i] {
						if math.Abs(a[0]-b[0]) < size && math.Abs(a[1]-b[1]) < size {
							t.Errorf("%d of %.0f mm on %v: %v and %v lie on one another", n, size, reach, a, b)
						}
					}
				}
			}
		}
	}
	if ps, err := Places(2, 500, 500, 0, 914, 10); err != nil || len(ps) != 2 || placed < 100 {
		t.Errorf("%d placed; two of 500 mm on a roll of 914: %v, %v", placed, ps, err)
	}
}

func TestPlaces(t *testing.T) {
	ps, err := Places(2, 400, 400, 0, 914, 10)
	if err != nil || len(ps) != 2 || ps[0][1] != 10 || ps[1][1] != 504 || ps[0][0] != ps[1][0] {
		t.Errorf("%v %v", ps, err)
	}
	if _, err := Places(1, 1000, 1000, 1600, 1000, 15); err == nil || !strings.Contains(err.Error(), "at most --size 970mm") {
		t.Errorf("%v", err)
	}
}

// TestDrawStaysInside: every stroke of a lettered square is within it, so that a page that holds the square holds all.
func TestDrawStaysInside(t *testing.T) {
	for _, size := range []float64{50, 100, 500, 1000} {
		p := Plot{Width: size, Height: size, Places: []orb.Point{{10, 10}}}
		for _, s := range p.Draw(devices.Pen, true, "roll-plotter, plot 1") {
			b := s.Path.Bound()
			if b.Min[0] < 10 || b.Min[1] < 10 || b.Max[0] > 10+size || b.Max[1] > 10+size {
				t.Errorf("%v: %s at %v", size, s.Role, b)
			}
		}
	}
}
