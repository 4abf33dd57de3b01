package measured

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/sewn"
)

// twoDarts is a bodice front with a shoulder dart and a waist dart, both drawn to the bust point.
func twoDarts(shoulder, half float64, more string) string {
	return fmt.Sprintf(`style: S
unit: cm
draft front:
  O: start
  N: from O out 7
  F: from O down 7.5
  X: from O down 26.5, out 9.5
  M: from N falling 2 for every 5, 6
  M2: swung M %g out about X
  T: carried S0 as M to M2 about X
  S0: from N falling 2 for every 5, 12
  U: from O down 22, out 25
  Wc: from O down 43
  W1: from X down 16.5, back %g
  W2: from X down 16.5, out %g
  Ws: from Wc out 24, up 1
  A: half-way from T to U
  K: along side 6 from U
  V: along inner waist 4 from Wc
  R: along armhole 9 from T
  G: along neck 6 from F
  neck: curve F to N, leaving level, arriving square to N M up
  inner shoulder: line N to M
  shoulder cap: line M to M2
  shoulder: line M2 to T
  armhole: curve T to U, leaving plumb down, arriving level
  side: line U to Ws
  waist: line Ws to W2
  waist cap: line W2 to W1
  inner waist: line W1 to Wc
  centre: line Wc to F
%s
  outline: neck, inner shoulder, shoulder cap, shoulder, armhole, side, waist, waist cap, inner waist, centre on the fold
pieces:
  front: front; cut 1 on the fold
allow:
  all: 1
`, shoulder, half, half, more)
}

// wedges are the angles of a piece's darts at the bust point, by the edge in which they lie.
func wedges(pc *pieces.Piece) map[string]float64 {
	out := map[string]float64{}
	for _, d := range pc.Form.Darts {
		out[pc.Edges[d.Edge].Name] += curve.AngleBetween(geom.Sub(d.LegA, d.Apex), geom.Sub(d.LegB, d.Apex))
	}
	return out
}

// Several darts of one drawing: both moved, one moved and one left, one moved into the other, both to one
// place. The angle about the bust point is only handed on: what is closed in one place opens in another.
func TestSeveralDarts(t *testing.T) {
	const shoulder, half = 3.0, 1.6
	s := 2 * math.Asin(shoulder/2/math.Hypot(9.5-7-6*5/math.Sqrt(29), 26.5-6*2/math.Sqrt(29))) * 180 / math.Pi
	w := 2 * math.Atan(half/16.5) * 180 / math.Pi
	for _, c := range []struct {
		more string
		want map[string]float64
	}{
		{"  dart s: M to X to M2, moved to side at K\n  dart w: W1 to X to W2, moved to inner waist at V", map[string]float64{"side": s, "inner waist": w}},
		{"  dart w: W1 to X to W2, moved to inner waist at V\n  dart s: M to X to M2, moved to side at K", map[string]float64{"side": s, "inner waist": w}},
		{"  dart s: M to X to M2, folded back\n  dart w: W1 to X to W2, moved to armhole at R", map[string]float64{"shoulder cap": s, "armhole": w}},
		{"  dart s: M to X to M2, half moved to dart w\n  dart w: W1 to X to W2, folded back", map[string]float64{"shoulder cap": s / 2, "waist cap": w + s/2}},
		{"  dart w: W1 to X to W2, moved to dart s\n  dart s: M to X to M2", map[string]float64{"shoulder cap": w + s}},
		{"  dart s: M to X to M2, moved to side at K\n  dart w: W1 to X to W2, moved to side at K", map[string]float64{"side": w + s}},
		{"  dart s: M to X to M2, 1/4 moved to side at K, 1/4 moved to armhole at R\n  dart w: W1 to X to W2, 1/3 moved to side at K", map[string]float64{"side": s/4 + w/3, "armhole": s / 4, "shoulder cap": s / 2, "waist cap": w * 2 / 3}},
		{"  dart s: M to X to M2, moved to dart w\n  dart w: W1 to X to W2, moved to side at K", map[string]float64{"side": w + s}},
		{"  dart s: M to X to M2, moved to neck at G as gathers\n  dart w: W1 to X to W2, folded back", map[string]float64{"waist cap": w}},
	} {
		e := drawText(t, twoDarts(shoulder, half, c.more))
		pc := pieceNamed(e, "front")
		got := wedges(pc)
		for name, want := range c.want {
			if math.Abs(got[name]-want) > 1e-6 {
				t.Errorf("%s:\n%s holds %v degrees, want %v", c.more, name, got[name], want)
			}
		}
		if len(got) != len(c.want) {
			t.Errorf("%s:\ndarts %v", c.more, got)
		}
		soundPiece(t, e, pc)
	}
}

// soundPiece proves a piece closed and uncrossed, and each of its darts to fold into its edge.
func soundPiece(t interface{ Fatalf(string, ...any) }, e *sewn.Sewing, pc *pieces.Piece) {
	for i, ed := range pc.Edges {
		if d := geom.Dist(ed.Curve.End(), pc.Edges[(i+1)%len(pc.Edges)].Curve.Start()) * e.UnitMM; d > 1e-6 {
			t.Fatalf("%s is open by %v mm after %s", pc.Name, d, ed.Name)
		}
		for k := 1; k < len(ed.Curve); k++ {
			if d := geom.Dist(ed.Curve[k-1].To, ed.Curve[k].From) * e.UnitMM; d > 1e-6 {
				t.Fatalf("%s is open by %v mm in %s", pc.Name, d, ed.Name)
			}
		}
	}
	if line, _ := e.Flatten(pc.Edges); len(line.SelfCrossings(1)) > 0 {
		t.Fatalf("%s crosses itself", pc.Name)
	}
	for _, d := range pc.Form.Darts {
		if geom.Dist(d.LegA, d.Apex)-geom.Dist(d.LegB, d.Apex) > 1e-9 {
			t.Fatalf("the legs of %s differ", d.Name)
		}
		foldedCap(t, e, pc, d)
	}
}

// Two moved darts against turns worked out here alone: the outline of points is cut at the bust point and
// its parts turned by plain rotation, which must give the same corners.
func TestTwoDartsAgainstPlainTurns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shoulder, half := rapid.Float64Range(0.5, 4).Draw(t, "shoulder"), rapid.Float64Range(0.5, 2.5).Draw(t, "half")
		a, b := float64(rapid.IntRange(1, 100).Draw(t, "a"))/100, float64(rapid.IntRange(1, 100).Draw(t, "b"))/100
		text := twoDarts(shoulder, half, fmt.Sprintf("  dart s: M to X to M2, %v moved to side at K\n  dart w: W1 to X to W2, %v moved to armhole at R", a, b))
		if rapid.Bool().Draw(t, "the other first") {
			text = twoDarts(shoulder, half, fmt.Sprintf("  dart w: W1 to X to W2, %v moved to armhole at R\n  dart s: M to X to M2, %v moved to side at K", b, a))
		}
		e := drawText(t, text)
		pc := pieceNamed(e, "front")
		pt := func(n string) orb.Point { return e.Drawings["front"].Scope.Definitions[n].Point }
		x := pt("X")
		angle := func(p, q string) float64 {
			return curve.AngleBetween(geom.Sub(pt(p), x), geom.Sub(pt(q), x)) * math.Pi / 180
		}
		turned := func(q orb.Point, by float64) orb.Point {
			u := geom.Sub(q, x)
			return orb.Point{x[0] + u[0]*math.Cos(by) - u[1]*math.Sin(by), x[1] + u[0]*math.Sin(by) + u[1]*math.Cos(by)}
		}
		// Seen with y down, the part behind the shoulder dart closes toward the centre by turning back,
		// that behind the waist dart by turning on; the centre stays.
		s, w := -a*angle("M", "M2"), b*angle("W1", "W2")
		for n, by := range map[string]float64{"N": 0, "F": 0, "Wc": 0, "T": s, "M2": s, "U": s + w, "Ws": w, "W2": w} {
			want := turned(pt(n), by)
			best := math.Inf(1)
			for _, ed := range pc.Edges {
				best = min(best, geom.Dist(ed.Curve.Start(), want))
			}
			if best*e.UnitMM > 0.01 {
				t.Fatalf("%s should lie at %v, and no corner lies within %.4f mm:\n%s", n, want, best*e.UnitMM, text)
			}
			if got := pc.Flat(pt(n)); n != "M2" && n != "W2" && geom.Dist(got, want)*e.UnitMM > 0.01 {
				t.Fatalf("%s is carried to %v, want %v", n, got, want)
			}
		}
		soundPiece(t, e, pc)
	})
}

// A dart let out into the hem: the hem is longer by the arc of its angle, and nothing is left to sew.
func TestDartIntoFlare(t *testing.T) {
	text := `style: S
unit: cm
draft skirt:
  A: start
  B: from A out 22, up 1
  D1: from A out 9
  D2: from A out 12
  P: from A out 10.5, down 12
  C: from B down 60
  D: from A down 60
  Q: half-way from C to D
  waist: line A to D1
  cap: line D1 to D2
  outer waist: line D2 to B
  side: line B to C
  hem: line C to D
  centre: line D to A
  dart: D1 to P to D2, moved to hem at Q as flare
  outline: waist, cap, outer waist, side, hem, centre on the fold
pieces:
  skirt: skirt; cut 1 on the fold
allow:
  all: 1
`
	e := drawText(t, text)
	pc := pieceNamed(e, "skirt")
	d := e.Drawings["skirt"].Scope
	angle := 2 * math.Atan(1.5/12)
	want := geom.Dist(d.Definitions["C"].Point, d.Definitions["D"].Point) + angle*geom.Dist(d.Definitions["Q"].Point, d.Definitions["P"].Point)
	if got := pc.Edges[pc.Edge("hem")].Curve.Length(); math.Abs(got-want) > 1e-6 || len(pc.Form.Darts) != 0 || pc.Edge("cap") >= 0 {
		t.Errorf("the hem is %v, want %v; darts %v", got, want, pc.Form.Darts)
	}
	soundPiece(t, e, pc)
}

// refusedWith draws a bodice of two darts with more lines, and wants the words in what it says.
func refusedWith(t *testing.T, words map[string]string) {
	t.Helper()
	for more, want := range words {
		_, err := draw([]byte(twoDarts(3, 1.6, more)), "x.yaml", Options{})
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: want %q, got %v", more, want, err)
		}
	}
}

func TestSeveralDartsRefused(t *testing.T) {
	refusedWith(t, map[string]string{
		"  dart s: M to X to M2, moved to waist cap at W1\n  dart w: W1 to X to W2, moved to side at K":              "say moved to dart w",
		"  dart w: W1 to X to W2, moved to side at K\n  dart s: M to X to M2, moved to dart w":                       "the dart w was moved away",
		"  dart s: M to X to M2, moved to dart v\n  dart w: W1 to X to W2, folded back":                              "is no edge of the outline",
		"  dart s: M to X to M2, moved to side at K as ease\n  dart w: W1 to X to W2, folded back":                   "not sewn without a pucker",
		"  dart s: M to X to M2, moved to side at K as pleats\n  dart w: W1 to X to W2, folded back":                 "as gathers, as ease or as flare",
		"  Y: from X down 3\n  dart s: M to X to M2, moved to dart w\n  dart w: W1 to Y to W2":                       "turns about",
		"  Y: from X down 5, out 1\n  dart s: M to Y to M2\n  dart w: W1 to X to W2, moved to side at K":             "runs through the dart s",
		"  Y: from X out 1\n  dart s: M to X to M2, moved to side at K\n  dart w: W1 to Y to W2, moved to side at K": "legs end",
	})
}

// A waist that makes a point at its darts is warned of; trued it runs on, whether the dart is left, moved
// in part or closed, and by how much is said.
func TestTruedDarts(t *testing.T) {
	for _, c := range []struct {
		more  string
		trued int
	}{
		{"  dart s: M to X to M2, folded back, trued\n  dart w: W1 to X to W2, TRUED", 2},
		{"  dart s: M to X to M2, folded back, trued\n  dart w: W1 to X to W2, half moved to side at K, TRUED", 3},
		{"  dart s: M to X to M2, folded back, trued\n  dart w: W1 to X to W2, moved to side at K, ending 2 short, TRUED", 3},
	} {
		text := twoDarts(3, 1.6, c.more)
		e := drawText(t, strings.Replace(text, ", TRUED", "", 1))
		warned := 0
		for _, f := range seamFindings(e) {
			if strings.Contains(f.Message, "dart w") && strings.Contains(f.Message, "makes a ") {
				warned++
			}
		}
		if warned == 0 {
			t.Errorf("%s: nothing is said of the point at the waist", c.more)
		}
		e = drawText(t, strings.Replace(text, "TRUED", "trued", 1))
		for _, f := range seamFindings(e) {
			t.Errorf("%s: %s", c.more, f.Message)
		}
		if len(e.Truings) != c.trued {
			t.Errorf("%s: truings %+v", c.more, e.Truings)
		}
		soundPiece(t, e, pieceNamed(e, "front"))
	}
}
