package plan

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"tracewheel/devices"
	"tracewheel/geom"
)

// Entries chosen over the finished order against all combinations.
func TestEntriesAgainstAll(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		rnd := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 0))
		var r run
		for range 4 {
			path := geom.Path{Closed: true}
			for range 5 {
				path.Points = append(path.Points, orb.Point{rnd.Float64() * 50, rnd.Float64() * 50})
			}
			r.strokes = append(r.strokes, devices.Stroke{Path: path})
		}
		best := math.Inf(1)
		for k := range 5 * 5 * 5 * 5 {
			at, sum := orb.Point{}, 0.0
			for i := range r.strokes {
				p := r.strokes[i].Path.Points[k/int(math.Pow(5, float64(i)))%5]
				sum += geom.Dist(at, p)
				at = p
			}
			best = math.Min(best, sum)
		}
		r.enter(orb.Point{})
		if got := travel(r.strokes, orb.Point{}); math.Abs(got-best) > 1e-9 {
			rt.Fatalf("%.4f, the best is %.4f", got, best)
		}
	})
}

// Frames are drawn one after the other, so that the material never goes back.
func TestWindowsInTurn(t *testing.T) {
	ready, l := laid(6)
	p := roll()
	p.Plot.Long, p.Plot.FrameLength, p.Plot.FrameOverlap = "frames", 420, 20
	out, _ := Strokes(ready, l, p, Options{})
	last := 0
	for _, s := range out {
		w := window(s, p)
		if w < last {
			t.Fatalf("back from frame %d to frame %d", last, w)
		}
		last = w
	}
	if last < 2 {
		t.Errorf("all within %d frames", last+1)
	}
}

// manyStrokes is a lay of 2,000 strokes: outlines, notches, letters.
func manyStrokes() []devices.Stroke {
	rnd := rand.New(rand.NewPCG(5, 5))
	var out []devices.Stroke
	for i := range 2000 {
		at := orb.Point{rnd.Float64() * 4000, rnd.Float64() * 900}
		s := devices.Stroke{Tool: devices.Pen, Role: "mark", Piece: i}
		switch i % 10 {
		case 0:
			a := geom.FlattenArc(nil, at, orb.Point{30, 0}, orb.Point{0, 50}, 0, 2*math.Pi, geom.FlattenTol)
			s.Path = geom.Path{Points: a, Closed: true}
		default:
			s.Path = open(at, geom.Add(at, orb.Point{rnd.NormFloat64() * 6, rnd.NormFloat64() * 6}))
		}
		out = append(out, s)
	}
	return out
}

// TestStrokesAgainstALongRun: 2,000 strokes no worse than 5 % above a long run.
func TestStrokesAgainstALongRun(t *testing.T) {
	usual, _ := orderDrawn(manyStrokes(), roll(), Options{})
	long, _ := orderDrawn(manyStrokes(), roll(), Options{Effort: 200})
	a, b := travel(usual, orb.Point{}), travel(long, orb.Point{})
	nearest, _ := nearestTravel(manyStrokes(), orb.Point{})
	t.Logf("usual %.0f mm, long run %.0f mm (%.2f %% over), nearest first %.0f mm", a, b, 100*(a/b-1), nearest)
	if a > 1.05*b {
		t.Errorf("%.1f %% above a long run", 100*(a/b-1))
	}
}

func BenchmarkOrder2000(b *testing.B) {
	strokes := manyStrokes()
	for b.Loop() {
		b.StopTimer()
		copied := slices.Clone(strokes)
		b.StartTimer()
		orderDrawn(copied, roll(), Options{})
	}
}
