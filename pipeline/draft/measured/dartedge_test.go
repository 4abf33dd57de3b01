package measured

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// hipped is a skirt's front with a sloping waist on which darts stand.
func hipped(darts string) string {
	return fmt.Sprintf(`style: S
unit: cm
draft front:
  O: start
  C: from O down 60
  Ws: from O out 22, up 1
  H: from O out 25, down 20
  S: from C out 27
  D: along waist 8 from O
  E: along waist 15 from O
  P: from D down 9, out 0.4
  waist: line Ws to O
  side: line Ws to H to S
  hem: line S to C
  centre: line C to O
  outline: centre on the fold, waist, side, hem
%s
pieces:
  front: front; cut 1 on the fold
allow: 1.5
`, strings.ReplaceAll(darts, "|", "\n"))
}

// A dart that is told by its place on an edge is the one that is drawn there: check value 25 of the
// trade (a cap of 0.1754 on a level edge, computed from geometry), and everywhere the same outline as
// from leg to point to leg.
func TestEdgeDart(t *testing.T) {
	told := drawText(t, strings.Replace(hipped("  dart w: at D, takes 1.5, 6.5 long"), "Ws: from O out 22, up 1", "Ws: from O out 22", 1))
	most := 0.0
	pc := pieceNamed(told, "front")
	for _, s := range pc.Edges[pc.Edge("waist")].Curve {
		most = max(most, -s.From[1], -s.To[1])
	}
	if math.Abs(most-0.1754) > 0.0001 {
		t.Errorf("the cap stands out %.5f", most)
	}
	if got := value(t, told, "sewn length of front waist"); math.Abs(got-20.5) > 1e-9 {
		t.Errorf("the waist is sewn %v long", got)
	}

	// The same by hand on the sloping waist, its legs' ends and its point from the slope.
	told = drawText(t, hipped("  dart w: at D, takes 1.5, 6.5 long"))
	u := geom.Unit(orb.Point{22, -1})
	at := func(l, down float64) orb.Point {
		return geom.Add(geom.Mul(u, l), geom.Mul(orb.Point{1, 22}, down/math.Hypot(1, 22)))
	}
	byHand := hipped("  dart w: E1 to Q to E2, folded back")
	for name, q := range map[string]orb.Point{"E1": at(7.25, 0), "E2": at(8.75, 0), "Q": at(8, 6.5)} {
		byHand = strings.Replace(byHand, "  waist:", fmt.Sprintf("  %s: from O out %.12f, down %.12f\n  waist:", name, q[0], q[1]), 1)
	}
	byHand = strings.Replace(byHand, "waist: line Ws to O", "outer waist: line Ws to E2\n  cap: line E2 to E1\n  waist: line E1 to O", 1)
	byHand = strings.Replace(byHand, "D: along waist 8 from O", "D: from O out 1", 1)
	byHand = strings.Replace(byHand, "E: along waist 15 from O", "E: from O out 2", 1)
	byHand = strings.Replace(byHand, "on the fold, waist,", "on the fold, waist, cap, outer waist,", 1)
	drawn := drawText(t, byHand)
	a, _ := told.FlattenTo(pieceNamed(told, "front").Edges, 0.005)
	b, _ := drawn.FlattenTo(pieceNamed(drawn, "front").Edges, 0.005)
	for _, q := range a.Points {
		if n := b.Nearest(q); n.Dist > 0.01 {
			t.Fatalf("%v lies %.3f mm off the outline that is drawn by hand", q, n.Dist)
		}
	}
	if math.Abs(a.Area()-b.Area()) > 0.01*b.Area()/1000 {
		t.Errorf("areas %v and %v", a.Area(), b.Area())
	}
}

// To a point that is not square under its mouth the mouth stays where it is told, half of what it takes on
// either side, and the shorter leg is lengthened past the edge, which is trued: common practice at the table.
// By how much, and where the legs meet the edge as drawn, is computed from the points. Two darts stand on one
// edge, and what both take is not sewn into the seam.
func TestEdgeDartsLean(t *testing.T) {
	u := geom.Unit(orb.Point{22, -1})
	for _, lean := range []orb.Point{{0.4, 9}, {6, 9}, {-5, 9}} { // the second and third by more than half their angle
		text := strings.Replace(hipped("  dart one: at D, takes 2, to P|  dart two: at E, takes 1.2, 8 long, folded out, trued"),
			"P: from D down 9, out 0.4", fmt.Sprintf("P: from D down %g, out %g", lean[1], lean[0]), 1)
		e := drawText(t, text)
		pc := pieceNamed(e, "front")
		if len(pc.Form.Darts) != 2 {
			t.Fatalf("%d darts", len(pc.Form.Darts))
		}
		for _, f := range seamFindings(e) {
			if strings.Contains(f.Message, "dart") {
				t.Errorf("lean %v, though both are trued: %s", lean, f.Message)
			}
		}
		for k, m := range pc.Form.Darts {
			if l := geom.Dist(m.LegA, m.Apex) - geom.Dist(m.LegB, m.Apex); math.Abs(l) > 1e-6 {
				t.Errorf("the legs of the %s differ by %v", m.Name, l)
			}
			at, take := 15.0, 1.2
			if m.Name == "dart one" {
				at, take = 8, 2
			}
			d := geom.Mul(u, at)
			want := [2]orb.Point{geom.Sub(d, geom.Mul(u, take/2)), geom.Add(d, geom.Mul(u, take/2))}
			longer := math.Max(geom.Dist(want[0], m.Apex), geom.Dist(want[1], m.Apex))
			for i, leg := range []orb.Point{m.LegA, m.LegB} {
				if off := geom.Cross(geom.Unit(geom.Sub(leg, m.Apex)), geom.Sub(want[i], m.Apex)); math.Abs(off) > 1e-9 {
					t.Errorf("lean %v: leg %d of dart %d passes %.4f beside its place on the edge", lean, i, k, off)
				}
				if l := geom.Dist(leg, m.Apex); math.Abs(l-longer) > 1e-9 {
					t.Errorf("lean %v: leg %d of dart %d is %.4f long, want %.4f", lean, i, k, l, longer)
				}
			}
		}
		p := geom.Add(geom.Mul(u, 8), lean)
		by := math.Abs(geom.Dist(p, geom.Mul(u, 9)) - geom.Dist(p, geom.Mul(u, 7)))
		told := false
		for _, tr := range e.Truings {
			told = told || tr.At == "dart one of front at the waist" && math.Abs(tr.Carried[0]+tr.Carried[1]-by) < 1e-9
		}
		if !told {
			t.Errorf("lean %v: the figures do not tell that a leg was lengthened by %.4f: %+v", lean, by, e.Truings)
		}
	}
	e := drawText(t, hipped("  dart one: at D, takes 2, to P, trued|  dart two: at E, takes 1.2, 8 long, folded out, trued"))
	if got, want := value(t, e, "sewn length of front waist"), math.Hypot(22, 1)-3.2; math.Abs(got-want) > 0.05 { // trued a little
		t.Errorf("the waist is sewn %v long, want about %v", got, want)
	}
}

func TestEdgeDartFaults(t *testing.T) {
	for _, c := range []struct{ darts, want string }{
		{"  dart w: at P, takes 2, 9 long", "does not lie on an edge"},
		{"  dart w: at D, takes 17, 9 long", "past the end of the edge \"waist\", which is 22.023 long"},
		{"  dart w: at D, takes 2, 90 long", "runs out of the piece"},
		{"  F: along waist 20.9 from O|  Q: from O out 23.5, down 12|  dart w: at F, takes 2, to Q", "the dart leans so far that its shorter leg is lengthened by 0."},
		{"  dart w: at D, takes 2, to S", "runs out of the piece"},
		{"  dart w: at D, takes -2, 9 long", "cannot take -2"},
		{"  dart w: at D, takes 2, 0 long", "cannot be 0 long"},
		{"  dart w: at D, takes 2, 9 down", "say 9 long"},
		{"  dart w: at D, takes 2, 9 long, moved to side at H", "draw it from leg to point to leg"},
		{"  dart w: at D, takes 8, 9 long|  dart x: at E, takes 8, 9 long", "overlaps the dart w"},
	} {
		if got := said(t, hipped(c.darts), ""); !strings.Contains(got, c.want) {
			t.Errorf("%s says\n%s\nwant %q", c.darts, got, c.want)
		}
	}
}
