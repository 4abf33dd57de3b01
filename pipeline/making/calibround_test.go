package making

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/devices/calibration"
	"tracewheel/devices/gcode"
	"tracewheel/devices/hpgl"
	"tracewheel/devices/knife/blade"
	"tracewheel/geom"
	"tracewheel/pipeline/testsquare"
)

// TestRoundByRuler goes the technician's whole way on each device, which draws too large or too small and
// askew by chance: a square is sent for, drawn from its bytes as an independent reader tells them, read
// with a ruler to 0.5 mm, recorded, and drawn again. Then it is as true as such readings leave it.
func TestRoundByRuler(t *testing.T) {
	seed := rand.Uint64()
	rng := rand.New(rand.NewPCG(seed, 2))
	off := func(by float64) float64 { return by * (2*rng.Float64() - 1) }
	for _, device := range []string{"roll-plotter", "desk-plotter", "knife-table"} {
		const size = 380
		room := emptyRoom(t)
		machine := geom.Rotate(off(0.01)).After(geom.Affine{A: 1 + off(0.005), C: off(0.004), D: 1 + off(0.005)})
		round := func() (testsquare.Order, map[calibration.Side]float64) {
			o, file, err := testsquare.Plot(room, device, testsquare.Wish{Width: size, Height: size, Count: 1}, time.Now())
			if err != nil {
				t.Fatal(err)
			}
			src, err := json.Marshal(o)
			if err != nil {
				t.Fatal(err)
			}
			w := made(t, New(room), Request{Name: file, Source: src, Device: device})
			return o, sidesOf(cornersDrawn(t, w, o, machine))
		}
		o, read := round()
		form := testsquare.NewForm(o, 0.5, 1, "mm")
		for _, side := range calibration.SquareSides {
			v := math.Round(2*read[side]) / 2
			if err := form.Answer(1, side, fmt.Sprint(v, " ", v)); err != nil { // twice, as the help says
				t.Fatal(err)
			}
		}
		r, err := form.Solve()
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		if _, err := form.Keep(calibrationsOf(t, room, device), r, time.Now()); err != nil {
			t.Fatal(err)
		}
		_, is := round()
		// A reading to half a millimetre is off by up to 0.25 mm; the plotter's own unit adds 0.025 in each of the two squares.
		limit := (0.25 + 2*0.025 + 0.005) / size
		for side, v := range is {
			if e := v/nominal(o, side) - 1; math.Abs(e) > limit && side != calibration.Rising && side != calibration.Falling {
				t.Errorf("seed %d, %s: %s is still off by %.3f %%", seed, device, side, 100*e)
			}
		}
		shear := math.Asin((is[calibration.Rising]*is[calibration.Rising] - is[calibration.Falling]*is[calibration.Falling]) / (4 * size * size))
		if math.Abs(shear) > 1.5*math.Sqrt2*limit {
			t.Errorf("seed %d, %s: still off square by %.3f degrees", seed, device, calibration.Degrees(shear))
		}
	}
}

func nominal(o testsquare.Order, side calibration.Side) float64 {
	return calibration.Square{Width: o.Width, Height: o.Height}.Nominal(side)
}

// sidesOf measures a quadrilateral, its corners from the lower left round against the clock.
func sidesOf(c [4]orb.Point) map[calibration.Side]float64 {
	return map[calibration.Side]float64{
		calibration.Bottom: geom.Dist(c[0], c[1]), calibration.Right: geom.Dist(c[1], c[2]), calibration.Top: geom.Dist(c[2], c[3]),
		calibration.Left: geom.Dist(c[3], c[0]), calibration.Rising: geom.Dist(c[0], c[2]), calibration.Falling: geom.Dist(c[3], c[1])}
}

// cornersDrawn are the corners of the square as a machine with an error draws or cuts it.
func cornersDrawn(t *testing.T, w whole, o testsquare.Order, machine geom.Affine) (out [4]orb.Point) {
	t.Helper()
	var lines []geom.Path
	if w.Profile.Language == devices.GCode {
		var moves []devices.Move
		for _, m := range gcode.Read(w.Program.Bytes(), gcode.ReadOptions{}).Moves {
			moves = append(moves, straightened(m, machine)...)
		}
		for _, c := range blade.Simulate(moves, blade.Options{Offset: w.Profile.Blade.Offset, Heading: math.Pi / 2}).Cuts {
			lines = append(lines, c.Path)
		}
	} else {
		d, err := hpgl.Read(w.Program.Bytes(), hpgl.OptionsFor(w.Profile))
		if err != nil {
			t.Fatal(err)
		}
		for _, tr := range d.Traces {
			lines = append(lines, tr.Path.Apply(machine))
		}
	}
	ix := geom.NewIndex(lines...)
	at, k := o.Places[0], calibration.Compose(o.InForce, devices.Correction{})
	for i, q := range [4]orb.Point{at, {at[0] + o.Width, at[1]}, {at[0] + o.Width, at[1] + o.Height}, {at[0], at[1] + o.Height}} {
		sent := geom.Affine{A: k.ScaleX, C: k.Skew, D: k.ScaleY}.Apply(q)
		// The place where the corner should be by the bytes, and what lies there.
		_, near := ix.Nearest(machine.Apply(sent))
		if near.Dist > 0.05 {
			t.Fatalf("no line within 0.05 mm of corner %d, %v: %.3f", i, q, near.Dist)
		}
		out[i] = near.Point
	}
	return out
}

// straightened is a move in short straight ones, put where a machine with an error really goes.
func straightened(m devices.Move, machine geom.Affine) []devices.Move {
	points := []orb.Point{m.From, m.To}
	if m.Arc {
		u := geom.Sub(m.From, m.Centre)
		v := geom.Left(u)
		if m.Sweep < 0 {
			v = geom.Mul(v, -1)
		}
		points = geom.FlattenArc([]orb.Point{m.From}, m.Centre, u, v, 0, math.Abs(m.Sweep), 0.001)
	}
	var out []devices.Move
	for i := 1; i < len(points); i++ {
		p := m
		p.Arc, p.Sweep = false, 0
		p.From, p.To = machine.Apply(points[i-1]), machine.Apply(points[i])
		if i > 1 {
			p.FromZ = m.ToZ
		}
		out = append(out, p)
	}
	return out
}
