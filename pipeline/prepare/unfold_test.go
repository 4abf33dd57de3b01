package prepare

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// half is half a panel on the fold x = 0: 100 by 300 sewn, open at the fold, its neck square to it.
func half(change ...func(*pattern.Piece)) pattern.Piece {
	p := pattern.Piece{
		Name: "FRONT", Named: true, Quantity: 1, CutSaid: true,
		Cut:  closed("0,-20 115,-20 115,310 0,310"),
		Sew:  []geom.Path{{Points: points("0,0 100,0 100,300 0,300")}},
		Fold: &pattern.Segment{A: orb.Point{0, -20}, B: orb.Point{0, 310}},
	}
	for _, c := range change {
		c(&p)
	}
	return p
}

func TestUnfold(t *testing.T) {
	p := half(func(p *pattern.Piece) {
		p.Notches = []pattern.Notch{
			{At: orb.Point{0, -20}, Kind: pattern.NotchNick, Depth: 4},
			{At: orb.Point{115, 100}, Kind: pattern.NotchNick, Depth: 4, AngleDeg: 190, AngleSaid: true},
		}
		p.Drills = []pattern.Drill{{At: orb.Point{40, 50}}, {At: orb.Point{0, 60}}}
		p.Marks = []pattern.Mark{
			{Role: pattern.RoleMark, Path: geom.Path{Points: points("0,200 50,200 50,250")}},
			{Role: pattern.RoleMark, Path: geom.Path{Points: points("60,10 80,10")}},
			{Role: pattern.RoleMark, Path: *closed("-5,100 5,100 5,110 -5,110")},
		}
		p.Labels = []pattern.Label{{At: orb.Point{60, 30}, Text: "pocket", Height: 5}}
		p.Cutouts = []geom.Path{*closed("70,250 80,250 80,260")}
	})
	r := mustRun(t, draftOf(p), pattern.Ticket{}, Options{}).Ready[0]
	if b := r.Outline.Bound(); b.Min != (orb.Point{-115, -20}) || b.Max != (orb.Point{115, 310}) {
		t.Errorf("box %v", b)
	}
	if math.Abs(r.Outline.Area()-230*330) > 1e-6 || len(r.Outline.Points) != 6 {
		t.Errorf("area %v, %d points", r.Outline.Area(), len(r.Outline.Points))
	}
	for i, q := range r.Outline.Points {
		if q[0] == 0 && r.Outline.Corners[i] {
			t.Errorf("the straight hem breaks on the fold at %v", q)
		}
	}
	sew := with(r, pattern.RoleSew)
	if len(sew) != 1 || !sew[0].Path.Closed || math.Abs(sew[0].Path.Area()-200*300) > 1e-6 {
		t.Errorf("sew line %+v", sew)
	}
	if n := with(r, pattern.RoleNotch); len(n) != 3 {
		t.Errorf("%d notches, want the one on the fold once and the other twice", len(n))
	} else {
		tip := n[2].Path.Points[1]
		if !near(n[2].Path.Points[0], orb.Point{-115, 100}, 1e-9) || !near(tip, orb.Point{-115 + 4*math.Cos(10*math.Pi/180), 100 - 4*math.Sin(10*math.Pi/180)}, 1e-9) {
			t.Errorf("mirrored notch %v", n[2].Path.Points)
		}
	}
	if d := with(r, pattern.RoleDrill); len(d) != 6 { // two strokes a cross
		t.Errorf("%d drill strokes", len(d))
	}
	if m := with(r, pattern.RoleMark); len(m) != 4 {
		t.Errorf("%d inner lines, want one through the fold, two apart, one across it", len(m))
	} else if len(m[0].Path.Points) != 5 {
		t.Errorf("a line to the fold does not run on: %v", m[0].Path.Points)
	}
	if c := with(r, pattern.RoleCutout); len(c) != 2 {
		t.Errorf("%d cut-outs", len(c))
	}
	if f := with(r, pattern.RoleFold); len(f) != 1 || math.Abs(f[0].Path.Length()-330) > 1e-9 {
		t.Errorf("fold line %+v", f)
	}
}

// Half pattern on the fold, area 1928.433 cm2: full 3856.867 cm2 (trade check value 50, from the demo
// garments). Here on any half: the whole has twice its area and is its own mirror image.
func TestUnfoldedAreaIsTwice(t *testing.T) {
	neck := geom.Path{Closed: true, Points: points("0,0 0,-600 270,-600 290,-10 180,-20 126.667,0")}
	neck.Points = geom.FlattenQuad(neck.Points, orb.Point{126.667, 0}, orb.Point{90, -40}, orb.Point{0, -40}, geom.FlattenTol)
	neck.Points = neck.Points[1:] // the fold begins at the neck
	neck = geom.MarkCorners(neck, 0.3)
	p := half(func(p *pattern.Piece) {
		p.Cut, p.Sew = &neck, nil
		p.Fold = &pattern.Segment{A: orb.Point{0, -600}, B: orb.Point{0, -40}}
	})
	r := mustRun(t, draftOf(p), pattern.Ticket{}, Options{}).Ready[0]
	if math.Abs(r.Outline.Area()-2*neck.Area()) > 1e-6 {
		t.Errorf("area %v, want twice %v", r.Outline.Area(), neck.Area())
	}
	image := geom.NewIndex(r.Outline.Apply(geom.Scale(-1, 1)))
	for i, q := range r.Outline.Points {
		if _, n := image.Nearest(q); n.Dist > 1e-9 {
			t.Fatalf("point %v has no mirror image", q)
		}
		if q[0] == 0 && q[1] == -40 && r.Outline.Corners[i] {
			t.Error("a neck square to the fold breaks there")
		}
	}
}

// A sew line on the fold with a stated allowance: the fold edge has none, its ends slide along the
// fold line, and the whole is 2 x 115 wide.
func TestAllowanceAndFold(t *testing.T) {
	for name, sew := range map[string]geom.Path{
		"open at the fold": {Points: points("0,0 100,0 100,300 0,300")},
		"closed":           *closed("0,0 100,0 100,300 0,300"),
	} {
		p := half(func(p *pattern.Piece) {
			p.Cut, p.Sew, p.Allowance = nil, []geom.Path{sew}, mm(15)
			p.Fold = &pattern.Segment{A: orb.Point{0, 0}, B: orb.Point{0, 300}}
		})
		r := mustRun(t, draftOf(p), pattern.Ticket{}, Options{}).Ready[0]
		if b := r.Outline.Bound(); !near(b.Min, orb.Point{-115, -15}, 1e-6) || !near(b.Max, orb.Point{115, 315}, 1e-6) || math.Abs(r.Outline.Area()-230*330) > 1e-3 {
			t.Errorf("%s: box %v, area %v", name, b, r.Outline.Area())
		}
		if sew := with(r, pattern.RoleSew); len(sew) != 1 || !sew[0].Path.Closed || math.Abs(sew[0].Path.Area()-200*300) > 1e-6 {
			t.Errorf("%s: sew lines %+v", name, sew)
		}
		if f := with(r, pattern.RoleFold); len(f) != 1 || math.Abs(f[0].Path.Length()-330) > 1e-6 {
			t.Errorf("%s: fold %+v", name, f)
		}
	}
}

// The fold may be an edge that is marked, with no line drawn for it.
func TestFoldAsAnEdge(t *testing.T) {
	p := half(func(p *pattern.Piece) {
		p.Cut, p.Fold, p.Sew, p.Allowance = nil, nil, []geom.Path{*closed("0,0 100,0 100,300 0,300")}, mm(15)
		p.Edges = []pattern.Edge{{Name: "hem", First: 0}, {Name: "side", First: 1}, {Name: "neck", First: 2}, {Name: "centre", First: 3, Fold: true}}
	})
	r := mustRun(t, draftOf(p), pattern.Ticket{}, Options{}).Ready[0]
	sides := 0
	for i, name := range r.EdgeOf {
		if name == "centre" {
			t.Error("the fold edge is still there")
		}
		if a, b := r.Outline.Segment(i); name == "side" && math.Abs(geom.Dist(a, b)-330) < 1e-6 {
			sides++
		}
	}
	if sides != 2 || math.Abs(r.Outline.Area()-230*330) > 1e-3 {
		t.Errorf("%d sides, area %v, edges %q", sides, r.Outline.Area(), r.EdgeOf)
	}
}

func TestFoldOffTheEdgeIsRefused(t *testing.T) {
	if _, err := Run(draftOf(half(func(p *pattern.Piece) { p.Fold.A[0], p.Fold.B[0] = 50, 50 })), pattern.Ticket{}, Options{}); err == nil {
		t.Error("unfolded about a line in the middle")
	}
}
