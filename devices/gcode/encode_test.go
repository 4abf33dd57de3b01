package gcode

import (
	"bytes"
	"math"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

func table() devices.Profile {
	p := devices.Default(devices.DragKnife, devices.GCode)
	p.Name, p.Length, p.Width = "knife-table", 1600, 1000
	return p
}

// cut makes the motions of one cut through points.
func cut(z float64, pts ...orb.Point) []devices.Motion {
	out := []devices.Motion{
		{Kind: devices.Travel, To: pts[0], Note: "front"},
		{Kind: devices.Plunge, To: pts[0], Z: z, Feed: 300},
	}
	for _, p := range pts[1:] {
		out = append(out, devices.Motion{Kind: devices.CutLine, To: p, Feed: 3000})
	}
	return append(out, devices.Motion{Kind: devices.Raise, To: pts[len(pts)-1], Z: 5})
}

func encode(t testing.TB, m []devices.Motion, p devices.Profile) devices.Program {
	t.Helper()
	prog, err := Encode(m, p)
	if err != nil {
		t.Fatal(err)
	}
	return prog
}

func TestPlainCut(t *testing.T) {
	p := table()
	p.Gantry.Decimals = 3
	p.Gantry.Park = &[2]float64{0, 900}
	got := string(encode(t, cut(-0.6, orb.Point{10, -0.0001}, orb.Point{20.5, 0}, orb.Point{20.5, 0.0002}, orb.Point{20.5, 7.25}), p).Bytes())
	want := `G21
G90 G17 G94
G54
G0 Z5
(piece front)
G0 X10 Y0
G1 Z-0.6 F300
G1 X20.5 Y0 F3000
G1 X20.5 Y7.25
G0 Z5
G0 X0 Y900
M2
`
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

// TestArcsKeepTheRadiusRule tries random arcs on a grid: with the centre moved onto the bisector of the rounded chord
// the radii differ by 1.41 steps at most, so that three decimals stay within the strict 0.002 mm of the report of
// 2000.
func TestArcsKeepTheRadiusRule(t *testing.T) {
	const seed = 7
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 0))
	for _, dec := range []int{3, 4} {
		grid := math.Pow10(-dec)
		worst := 0.0
		for range 20000 {
			p := table()
			p.Gantry.Decimals = dec
			r := math.Exp(math.Log(0.25) + rnd.Float64()*math.Log(500/0.25))
			c := orb.Point{510 + rnd.Float64(), 500 + rnd.Float64()}
			a, sweep := rnd.Float64()*7, (rnd.Float64()*2-1)*3.1
			p.Length, p.Width = 2000, 2000
			on := func(a float64) orb.Point { return orb.Point{c[0] + r*math.Cos(a), c[1] + r*math.Sin(a)} }
			e, err := newEncoder(p)
			if err != nil {
				t.Fatal(err)
			}
			e.z = -1
			s := on(a)
			e.straight(s, devices.Motion{Feed: 100})
			e.arc(on(a+sweep), c, sweep, devices.Motion{Feed: 100})
			tr := Read(append([]byte("G21\n"), e.prog.Bytes()...), ReadOptions{})
			for _, f := range tr.Faults {
				if f.Kind != NoEnd {
					t.Fatalf("radius %v, sweep %v, decimals %d: %v", r, sweep, dec, f)
				}
			}
			sum, arcs := 0.0, 0
			for _, m := range tr.Moves {
				if m.Arc {
					arcs++
					sum += m.Sweep
					worst = math.Max(worst, math.Abs(geom.Dist(m.From, m.Centre)-geom.Dist(m.To, m.Centre)))
				}
			}
			if arcs > 0 && math.Abs(sum-sweep) > 3*grid/r+0.01 {
				t.Fatalf("radius %v: sweep %v became %v", r, sweep, sum)
			}
		}
		t.Logf("%d decimals: radii differ by %.6f mm at most", dec, worst)
		if worst > 1.42*grid {
			t.Errorf("%d decimals: radii differ by %v, over 1.42 steps", dec, worst)
		}
	}
}

// TestTinySwivelIsNoFullCircle: a swivel whose ends round to the same place would be read as a full turn. With three
// decimals that can happen below sqrt(2) 0.001 / d, 0.16 degrees at d 0.5.
func TestTinySwivelIsNoFullCircle(t *testing.T) {
	for _, deg := range []float64{0.001, 0.01, 0.05, 0.1, 0.16, 0.3, 1, 5, 90, 179.99, 180} {
		for k := range 16 {
			p := table()
			p.Gantry.Decimals = 3
			v, h := orb.Point{300.0003, 200.0007}, float64(k)*0.4
			at := func(a float64) orb.Point { return orb.Point{v[0] + 0.5*math.Cos(a), v[1] + 0.5*math.Sin(a)} }
			m := []devices.Motion{
				{Kind: devices.Travel, To: at(h)}, {Kind: devices.Plunge, To: at(h), Z: -0.1, Feed: 300},
				{Kind: devices.Swivel, To: at(h + deg*math.Pi/180), Centre: v, CCW: true, Z: -0.1, Feed: 600},
			}
			tr := Read(encode(t, m, p).Bytes(), ReadOptions{})
			for _, mv := range tr.Moves {
				if mv.Arc && math.Abs(mv.Sweep) > deg*math.Pi/180+0.006 {
					t.Errorf("swivel of %v from %.1f: line %d turns by %v", deg, h, mv.Line, mv.Sweep*180/math.Pi)
				}
			}
			if len(tr.Errors()) > 0 {
				t.Error(tr.Errors())
			}
		}
	}
}

func TestFullCircleIsSplit(t *testing.T) {
	p := table()
	m := cut(-0.6, orb.Point{120, 100})
	m = append(m[:2], devices.Motion{Kind: devices.CutArc, To: orb.Point{120, 100}, Centre: orb.Point{100, 100}, CCW: true, Feed: 1000},
		devices.Motion{Kind: devices.Raise, To: orb.Point{120, 100}, Z: 5})
	tr := Read(encode(t, m, p).Bytes(), ReadOptions{})
	var sum float64
	arcs := 0
	for _, mv := range tr.Moves {
		if mv.Arc {
			arcs++
			sum += mv.Sweep
		}
	}
	if arcs != 3 || math.Abs(sum-2*math.Pi) > 1e-4 {
		t.Errorf("%d arcs of %v in all, want three thirds", arcs, sum)
	}
}

// hostile are names that end a comment early or hold what a controller acts on.
var hostile = []string{
	"front (left) G1 Z-9", "cut me!", "a?b~c%d", "new\nG1 Z-9", "\r\nM3", "\x1bE\x03\x18", "MSG,hello", "LOGOPEN,x", "Ärmel – „links“",
	"); G1 Z-9 (", strings.Repeat("long ", 60), "", "#1=2", "\x84\x90\xa0",
}

// TestTextIsNeverCode: names change nothing but the comments, and comments hold nothing that a controller acts on.
func TestTextIsNeverCode(t *testing.T) {
	plain := encode(t, cut(-0.6, orb.Point{10, 10}, orb.Point{20, 10}), table())
	comment := regexp.MustCompile(`(?m)^\(piece[A-Za-z0-9 .,_+-]*\)\n`)
	for _, name := range hostile {
		m := cut(-0.6, orb.Point{10, 10}, orb.Point{20, 10})
		m[0].Note = name
		prog := encode(t, m, table()).Bytes()
		if a, b := comment.ReplaceAll(prog, nil), comment.ReplaceAll(plain.Bytes(), nil); !bytes.Equal(a, b) {
			t.Errorf("%q changed the program:\n%s", name, a)
		}
		if tr := Read(prog, ReadOptions{MaxLine: 71}); len(tr.Faults) > 0 {
			t.Errorf("%q: %v", name, tr.Faults)
		}
	}
}

func TestLinesAreShortAndPlain(t *testing.T) {
	p := table()
	p.Length, p.Width = 4000, 4000
	m := cut(-0.6, orb.Point{3999.12345, 3998.98765}, orb.Point{3000.00004, 2999.99996})
	m = append(m[:3], devices.Motion{Kind: devices.CutArc, To: orb.Point{2333.3333, 3911.1111}, Centre: geom.ArcCentre(m[2].To, orb.Point{2333.3333, 3911.1111}, orb.Point{-900, 1300}), CCW: true, Feed: 12345.6})
	m = append(m, devices.Motion{Kind: devices.Raise, To: m[3].To, Z: 5})
	word := regexp.MustCompile(`^([GXYZIJFM]-?[0-9]+(\.[0-9]+)?)( [GXYZIJFM]-?[0-9]+(\.[0-9]+)?)*$|^\(.*\)$`)
	for _, l := range strings.Split(strings.TrimSuffix(string(encode(t, m, p).Bytes()), "\n"), "\n") {
		if len(l) > 70 || !word.MatchString(l) || strings.Contains(l, "-0 ") {
			t.Errorf("line %q", l)
		}
	}
}

func TestRefusals(t *testing.T) {
	good := cut(-0.6, orb.Point{10, 10}, orb.Point{20, 10})
	change := func(f func(m []devices.Motion) []devices.Motion) []devices.Motion {
		return f(append([]devices.Motion(nil), good...))
	}
	own := func(f func(p *devices.Profile)) devices.Profile { p := table(); f(&p); return p }
	for _, c := range []struct {
		name, want string
		m          []devices.Motion
		p          devices.Profile
	}{
		{"outside", "outside the bed", cut(-0.6, orb.Point{10, 10}, orb.Point{1600.3, 10}), table()},
		{"outside once calibrated", "once calibrated", cut(-0.6, orb.Point{10, 10}, orb.Point{1599, 10}),
			own(func(p *devices.Profile) { p.Correction = devices.Correction{ScaleX: 1.004, ScaleY: 1} })},
		{"an arc that bulges out", "outside the bed", append(cut(-0.6, orb.Point{10, 2}),
			devices.Motion{Kind: devices.CutArc, To: orb.Point{20, 2}, Centre: orb.Point{15, 2}, CCW: true, Feed: 100}), table()},
		{"too deep", "under the floor", cut(-2, orb.Point{10, 10}, orb.Point{20, 10}), table()},
		{"low rapid", "below the safe height", change(func(m []devices.Motion) []devices.Motion { return append(m[:3], m[0], m[3]) }), table()},
		{"not a number", "no number", cut(-0.6, orb.Point{10, math.NaN()}, orb.Point{20, 10}), table()},
		{"live header", "gantry.header", good, own(func(p *devices.Profile) { p.Gantry.Header = []string{"M3 !"} })},
		{"spindle", "start a spindle", good, own(func(p *devices.Profile) { p.Gantry.Header = []string{"G90 m 03 S1000"} })},
		{"two lines in one", "gantry.footer", good, own(func(p *devices.Profile) { p.Gantry.Footer = []string{"M5\nG1 Z-9"} })},
		{"decimals", "decimals", good, own(func(p *devices.Profile) { p.Gantry.Decimals = 2 })},
		{"impossible calibration", "calibration", good, own(func(p *devices.Profile) { p.Correction = devices.Correction{ScaleX: 10, ScaleY: 1} })},
	} {
		_, err := Encode(c.m, c.p)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want one with %q", c.name, err, c.want)
		}
	}
	if _, err := Encode(good, table()); err != nil {
		t.Errorf("a good job is refused: %v", err)
	}
}
