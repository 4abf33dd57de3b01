package blade

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

const deg = math.Pi / 180

// along makes cutting moves through points at height -1.
func along(pts ...orb.Point) []devices.Move {
	var out []devices.Move
	for i := 1; i < len(pts); i++ {
		out = append(out, devices.Move{Line: i, From: pts[i-1], To: pts[i], FromZ: -1, ToZ: -1, Feed: 1000})
	}
	return out
}

// TestStraightPullFollowsTheTractrix holds the heading after a pull against the closed form of the
// pursuit curve on a straight line, Huygens' tractrix: way s/d = ln(tan(a/2)/tan(e/2)).
// Values: https://en.wikipedia.org/wiki/Tractrix gives the curve; the table was computed from the
// formula for misalignment a and remaining error e in degrees, to two decimals.
func TestStraightPullFollowsTheTractrix(t *testing.T) {
	for _, c := range []struct{ a, e, way float64 }{
		{30, 5, 1.81}, {60, 5, 2.58}, {90, 5, 3.13}, {120, 5, 3.68}, {144, 5, 4.26}, {170, 5, 5.57}, {179, 5, 7.87},
		{90, 2, 4.05}, {144, 2, 5.17}, {90, 1, 4.74}, {170, 1, 7.18}, {179.9, 1, 11.79}, {90, 0.5, 5.43}, {179.9, 0.5, 12.48},
	} {
		const d = 0.7
		res := Simulate(along(orb.Point{}, orb.Point{c.way * d, 0}), Options{Offset: d, Heading: c.a * deg})
		// 0.005 of rounding in the table changes the error by half a hundredth of itself.
		if got := res.Heading / deg; math.Abs(got-c.e) > 0.006*c.e {
			t.Errorf("pull of %.2f d from %.1f: %.4f degrees left, want %.1f", c.way, c.a, got, c.e)
		}
	}
}

// TestTipStaysBesideATractrix: cross-track of the tip is d sin(theta), so that the point of the
// tractrix x = d (ln cot(theta/2) - cos(theta)), y = d sin(theta) is met, its usual parametric form.
func TestTipStaysBesideATractrix(t *testing.T) {
	const d = 0.5
	res := Simulate(along(orb.Point{}, orb.Point{3, 0}), Options{Offset: d, Heading: 90 * deg})
	if n := len(res.Cuts); n != 1 {
		t.Fatalf("%d cuts, want 1", n)
	}
	for _, q := range res.Cuts[0].Path.Points {
		theta := math.Asin(math.Min(1, -q[1]/d)) // the blade points back and down to the tip
		want := d * (math.Log(1/math.Tan(theta/2)) - math.Cos(theta))
		if math.Abs(q[0]-want) > 1e-9 {
			t.Errorf("tip at %v, the tractrix passes there at x %.6f", q, want)
		}
	}
}

// TestCirclesSettleAtTheTractrixOfTheCircle: a pivot on a circle of radius R drags its tip on one of
// radius sqrt(R^2-d^2), the right triangle of centre, pivot and tip.
func TestCirclesSettleAtTheTractrixOfTheCircle(t *testing.T) {
	for _, c := range []struct{ d, r float64 }{{0.25, 1}, {0.5, 1}, {0.5, 5}, {0.5, 20}, {1, 5}, {1, 100}} {
		start := orb.Point{c.r, 0}
		var moves []devices.Move
		for k := range 40 {
			moves = append(moves, devices.Move{Line: k, Arc: true, From: start, To: start, Sweep: 2 * math.Pi, FromZ: -1, ToZ: -1})
		}
		res := Simulate(moves, Options{Offset: c.d, Heading: 100 * deg})
		pts := res.Cuts[0].Path.Points
		got, want := geom.Norm(pts[len(pts)-1]), math.Sqrt(c.r*c.r-c.d*c.d)
		if math.Abs(got-want) > 2*sagitta {
			t.Errorf("d %v, R %v: the tip settles at radius %.5f, want %.5f", c.d, c.r, got, want)
		}
	}
}

// TestUncompensatedCorner runs the pivot itself round a corner. The tip then lies d back on the
// first leg, and the tractrix gives by how much it misses the corner point; the values, per unit of
// d, were computed from the closed form apart from this code.
func TestUncompensatedCorner(t *testing.T) {
	const d = 20
	for _, c := range []struct{ turn, missed, strays float64 }{
		{30, 0.195, 0.189}, {45, 0.298, 0.277}, {60, 0.408, 0.357}, {90, 0.663, 0.482}, {120, 1, 0.540}, {144, 1, 0.508},
	} {
		s, cos := math.Sincos(c.turn * deg)
		end := orb.Point{800 * cos, 800 * s}
		res := Simulate(along(orb.Point{-800, 0}, orb.Point{}, end), Options{Offset: d})
		cut := res.Cuts[0].Path
		if got := cut.Nearest(orb.Point{}).Dist / d; math.Abs(got-c.missed) > 0.004 {
			t.Errorf("turn %v: the corner is missed by %.3f d, want %.3f", c.turn, got, c.missed)
		}
		line := geom.Path{Points: []orb.Point{{-900, 0}, {}, end}}
		worst := 0.0
		for _, q := range cut.Points {
			worst = math.Max(worst, line.Nearest(q).Dist/d)
		}
		if math.Abs(worst-c.strays) > 0.008 { // points of the tip stand d/40 apart
			t.Errorf("turn %v: the tip strays by %.3f d, want %.3f", c.turn, worst, c.strays)
		}
	}
}

func TestLiftedBladeKeepsItsHeading(t *testing.T) {
	moves := []devices.Move{
		{From: orb.Point{}, To: orb.Point{5, 5}, FromZ: 5, ToZ: 5, Rapid: true},
		{From: orb.Point{5, 5}, To: orb.Point{5, 5}, FromZ: 5, ToZ: -1},
		{From: orb.Point{5, 5}, To: orb.Point{5, 5}, FromZ: -1, ToZ: 5},
	}
	res := Simulate(moves, Options{Offset: 0.5, Heading: 1})
	if res.Heading != 1 {
		t.Errorf("heading %v after moves in the air and a stab, want 1", res.Heading)
	}
	if len(res.Cuts) != 1 || len(res.Cuts[0].Path.Points) != 1 {
		t.Fatalf("cuts %v, want one stab", res.Cuts)
	}
	want := orb.Point{5 - 0.5*math.Cos(1), 5 - 0.5*math.Sin(1)}
	if geom.Dist(res.Cuts[0].Path.Points[0], want) > 1e-12 {
		t.Errorf("stabbed at %v, want %v", res.Cuts[0].Path.Points[0], want)
	}
}

func TestTurnOnTheSpotIsMeasuredWholly(t *testing.T) {
	turn := func(sweep float64) devices.Move {
		s, c := math.Sincos(sweep)
		return devices.Move{Arc: true, From: orb.Point{0.5, 0}, To: orb.Point{0.5 * c, 0.5 * s}, Sweep: sweep, FromZ: -0.1, ToZ: -0.1}
	}
	for _, a := range []float64{90, 179, -144, 270} {
		res := Simulate([]devices.Move{turn(a * deg)}, Options{Offset: 0.5})
		if got := res.MaxTurn / deg; math.Abs(got-math.Abs(a)) > 0.1 {
			t.Errorf("turn of %v: measured %v", a, got)
		}
	}
}

// TestAgreesWithPullingTheTipAlong replaces the closed form by its plain meaning: at each tiny step
// of the pivot the tip is drawn straight towards it until it trails by d again.
func TestAgreesWithPullingTheTipAlong(t *testing.T) {
	const d, step = 0.5, 1e-4
	moves := along(orb.Point{}, orb.Point{3, 1}, orb.Point{3.2, -2})
	moves = append(moves,
		devices.Move{Arc: true, From: orb.Point{3.2, -2}, To: orb.Point{5.2, -2}, Centre: orb.Point{4.2, -2}, Sweep: math.Pi, FromZ: -1, ToZ: -1},
		devices.Move{Arc: true, From: orb.Point{5.2, -2}, To: orb.Point{5.2, -2}, Centre: orb.Point{4.9, -2}, Sweep: -2 * math.Pi, FromZ: -1, ToZ: -1})
	const heading = 2.1
	tip := orb.Point{-d * math.Cos(heading), -d * math.Sin(heading)}
	for _, m := range moves {
		n := int(m.Length() / step)
		a0 := math.Atan2(m.From[1]-m.Centre[1], m.From[0]-m.Centre[0])
		for k := 1; k <= n; k++ {
			f := float64(k) / float64(n)
			pivot := geom.Lerp(m.From, m.To, f)
			if m.Arc {
				s, c := math.Sincos(a0 + m.Sweep*f)
				pivot = orb.Point{m.Centre[0] + m.Radius()*c, m.Centre[1] + m.Radius()*s}
			}
			tip = geom.Sub(pivot, geom.Mul(geom.Unit(geom.Sub(pivot, tip)), d))
		}
	}
	res := Simulate(moves, Options{Offset: d, Heading: heading})
	pts := res.Cuts[len(res.Cuts)-1].Path.Points
	if off := geom.Dist(pts[len(pts)-1], tip); off > 5e-4 {
		t.Errorf("the tip ends at %v, pulled along it ends at %v, %.5f off", pts[len(pts)-1], tip, off)
	}
}
