package knife_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/devices/gcode"
	"tracewheel/devices/knife"
	"tracewheel/devices/knife/blade"
	"tracewheel/geom"
)

// proof is one job through compensation, bytes, reader and simulated blade.
type proof struct {
	motions []devices.Motion
	report  knife.Report
	program devices.Program
	trace   gcode.Trace
}

func prove(t testing.TB, strokes []devices.Stroke, p devices.Profile) proof {
	t.Helper()
	var pr proof
	var err error
	if pr.motions, pr.report, err = knife.Compensate(strokes, p); err != nil {
		t.Fatal(err)
	}
	if pr.program, err = gcode.Encode(pr.motions, p); err != nil {
		t.Fatal(err)
	}
	pr.trace = gcode.Read(pr.program.Bytes(), gcode.ReadOptions{MaxLine: 80})
	if len(pr.trace.Faults) > 0 {
		t.Fatalf("the program has faults: %v", pr.trace.Faults)
	}
	return pr
}

func (pr proof) tolerances(p devices.Profile) blade.Tolerances {
	return blade.Tolerances{Waste: []geom.Path{pr.report.Align}, WasteReach: 1.01 * p.Blade.Offset}
}

// check holds the simulated cut against what was wanted, for a first heading; a closed line that was
// not cut free is a departure too.
func (pr proof) check(t testing.TB, p devices.Profile, heading float64) {
	t.Helper()
	res := blade.Simulate(pr.trace.Moves, blade.Options{Offset: p.Blade.Offset, Heading: heading})
	for _, d := range blade.Compare(res.Cuts, pr.report.Wanted, pr.tolerances(p)) {
		t.Errorf("heading %.4f: %v", heading, d)
	}
	if res.MaxTurn > math.Pi+0.005 {
		t.Errorf("heading %.4f: a turn of %.2f degrees in line %d", heading, res.MaxTurn*180/math.Pi, res.MaxTurnLine)
	}
}

// TestThousandGarments is the main promise: 0.05 mm along edges, 0.1 mm at corners, all cut
// through, whatever the blade's heading at the start, also next to the opposite of the first pull.
func TestThousandGarments(t *testing.T) {
	const seed = 20261125
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	n := 1000
	if testing.Short() {
		n = 100
	}
	for k := range n {
		p := table()
		p.Blade.Offset = []float64{0.25, 0.5, 1}[k%3]
		p.Gantry.Decimals = 3 + k%2
		outline, nicks := garment(rnd, orb.Point{300, 300}, 20+200*rnd.Float64())
		pr := prove(t, cutStrokes(outline, nicks), p)
		pull := pr.report.Align.Points
		dir := geom.Sub(pull[2], pull[1])
		opposite := math.Atan2(-dir[1], -dir[0])
		for _, h := range []float64{rnd.Float64() * 7, opposite + (rnd.Float64()-0.5)*0.03} {
			pr.check(t, p, h)
		}
		if t.Failed() {
			t.Fatalf("outline %d, offset %v, decimals %d", k, p.Blade.Offset, p.Gantry.Decimals)
		}
	}
}

// lay is thirty pieces with their nicks.
func lay() []devices.Stroke {
	rnd := rand.New(rand.NewPCG(1, 1))
	var strokes []devices.Stroke
	for k := range 30 {
		outline, nicks := garment(rnd, orb.Point{150 + 250*float64(k%6), 110 + 190*float64(k/6)}, 90)
		strokes = append(strokes, cutStrokes(outline, nicks)...)
	}
	return strokes
}

// BenchmarkCompensate makes the bytes of a lay of thirty pieces; it prints how many metres of line
// a second of computing takes.
func BenchmarkCompensate(b *testing.B) {
	strokes := lay()
	p := table()
	var mm float64
	for _, s := range strokes {
		mm += s.Path.Length()
	}
	b.ReportAllocs()
	for b.Loop() {
		motions, _, err := knife.Compensate(strokes, p)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := gcode.Encode(motions, p); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(mm/1000*float64(b.N)/b.Elapsed().Seconds(), "m/s")
}

// TestAnyLine runs lines that no draft should hold: stretches from a thousandth of a millimetre to a
// hundred, any turns, open and closed, crossing themselves. Every vertex counts as a corner.
func TestAnyLine(t *testing.T) {
	const seed = 4
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 2))
	for k := range 400 {
		p := table()
		p.Blade.Offset = []float64{0.25, 0.5, 1}[k%3]
		path := geom.Path{Closed: rnd.IntN(2) == 0}
		at := orb.Point{700, 500}
		for range 2 + rnd.IntN(12) {
			path.Points = append(path.Points, at)
			l := math.Exp(math.Log(0.001) + rnd.Float64()*math.Log(1e5))
			a := rnd.Float64() * 2 * math.Pi
			at = orb.Point{at[0] + l*math.Cos(a), at[1] + l*math.Sin(a)}
			at[0], at[1] = math.Max(50, math.Min(at[0], 1500)), math.Max(50, math.Min(at[1], 950))
		}
		s := devices.Stroke{Tool: devices.Knife, Role: "cutout", Path: path}
		pr := prove(t, []devices.Stroke{s}, p)
		if pr.report.Plunges > 1 {
			continue // a row of stabs has gaps between them
		}
		res := blade.Simulate(pr.trace.Moves, blade.Options{Offset: p.Blade.Offset, Heading: rnd.Float64() * 7})
		for _, d := range blade.Compare(res.Cuts, pr.report.Wanted, pr.tolerances(p)) {
			if !d.Bridge { // a line that crosses itself may enclose nothing of its own
				t.Errorf("line %d: %v of %v", k, d, path.Points)
			}
		}
		if pr.report.MaxSwivel > math.Pi || t.Failed() {
			t.Fatalf("line %d, offset %v, closed %v, largest swivel %v", k, p.Blade.Offset, path.Closed, pr.report.MaxSwivel)
		}
	}
}

// BenchmarkProof reads the bytes of that lay back, simulates the blade and compares.
func BenchmarkProof(b *testing.B) {
	strokes := lay()
	p := table()
	pr := prove(b, strokes, p)
	for b.Loop() {
		trace := gcode.Read(pr.program.Bytes(), gcode.ReadOptions{})
		res := blade.Simulate(trace.Moves, blade.Options{Offset: p.Blade.Offset})
		blade.Compare(res.Cuts, pr.report.Wanted, pr.tolerances(p))
	}
}
