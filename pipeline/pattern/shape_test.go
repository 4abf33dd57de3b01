package pattern

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

func line(closed bool, xy ...float64) geom.Path {
	p := geom.Path{Closed: closed}
	for i := 0; i+1 < len(xy); i += 2 {
		p.Points = append(p.Points, orb.Point{xy[i], xy[i+1]})
	}
	return p
}

func TestEdgesFromCorners(t *testing.T) {
	square := line(true, 0, 0, 100, 0, 100, 50, 0, 50)
	p := Piece{Cut: &square}
	if e := p.EdgesOf(p.Cut); len(e) != 4 || e[3].First != 3 {
		t.Errorf("a rectangle has edges %+v", e)
	}
	p.Fold = &Segment{A: orb.Point{0, 50}, B: orb.Point{0, 0}}
	if e := p.EdgesOf(p.Cut); !e[3].Fold || e[0].Fold {
		t.Errorf("the fold edge is not marked: %+v", e)
	}
	// A coarse arc in 10 degree steps is one edge, not nine.
	arc := geom.Path{Closed: true, Points: []orb.Point{{0, 0}}}
	for k := range 10 {
		s, c := math.Sincos(float64(k) * math.Pi / 18)
		arc.Points = append(arc.Points, orb.Point{50 * c, 50 * s})
	}
	q := Piece{Cut: &arc}
	if e := q.EdgesOf(q.Cut); len(e) != 3 {
		t.Errorf("a quarter disc has edges %+v", e)
	}
	q.Edges = []Edge{{Name: "a", First: 7}, {Name: "b", First: 7}}
	if e := q.EdgesOf(q.Cut); len(e) != 3 || e[0].Name != "" {
		t.Errorf("edges that do not fit the line were taken: %+v", e)
	}
}

func TestOffFold(t *testing.T) {
	half := line(true, 0, 0, 100, 0, 100, 50, 0, 50, 0, 20)
	runs := OffFold(half, &Segment{A: orb.Point{0, 0}, B: orb.Point{0, 50}})
	if len(runs) != 1 || runs[0].Closed || math.Abs(runs[0].Length()-250) > 1e-9 {
		t.Errorf("left of a half piece: %+v", runs)
	}
	if runs = OffFold(half, nil); len(runs) != 1 || !runs[0].Closed {
		t.Errorf("without a fold the line changed: %+v", runs)
	}
	if runs = OffFold(half, &Segment{A: orb.Point{0, 20}, B: orb.Point{0, 40}}); len(runs) != 1 || math.Abs(runs[0].Length()-270) > 1e-9 {
		t.Errorf("with a fold along a part: %+v", runs)
	}
}

func TestRingJoinsSeamsAndFold(t *testing.T) {
	// Three seams in no order and no direction, open at the fold x = 0.
	p := Piece{
		Sew:  []geom.Path{line(false, 100, 50, 100, 0), line(false, 0, 0, 100, 0), line(false, 0, 50, 100, 50)},
		Fold: &Segment{A: orb.Point{0, -5}, B: orb.Point{0, 55}},
	}
	ring, cut, ok := p.Ring()
	if !ok || cut || !ring.Closed || math.Abs(ring.Area()-5000) > 1e-9 || len(ring.Points) != 4 {
		t.Errorf("ring %+v, cut %v, ok %v", ring, cut, ok)
	}
	p.Fold = nil
	if _, _, ok := p.Ring(); ok {
		t.Error("a line open at no fold was closed")
	}
	open := line(false, 0, 0, 100, 0, 100, 50)
	p = Piece{Cut: &open}
	if _, _, ok := p.Ring(); ok {
		t.Error("an open cut line was closed")
	}
	if _, _, ok := (&Piece{}).Ring(); ok {
		t.Error("a piece without lines has a ring")
	}
}

// Trade values: 5/8, 1/2, 3/8, 1/4 and 1/8 in are 15.875, 12.7, 9.525, 6.35 and 3.175 mm, and
// 25 3/8 in are 644.525 mm (exact by 1 in = 25.4 mm).
func TestParseLength(t *testing.T) {
	for text, want := range map[string]float64{
		"5/8in": 15.875, "1/2 in": 12.7, `3/8"`: 9.525, "1/4 inch": 6.35, "1/8 in": 3.175,
		"25 3/8 in": 644.525, "10mm": 10, "1.5 cm": 15, "7": 7, " 10 MM ": 10,
	} {
		if got, err := ParseLength(text); err != nil || math.Abs(got-want) > 1e-9 {
			t.Errorf("ParseLength(%q) = %v, %v; want %v", text, got, err, want)
		}
	}
	for _, text := range []string{"", "mm", "ten", "1 2 mm", "1 2 3/4", "1/0 in", "-3mm", "0x10", "inf", "nan", "1e3"} {
		if got, err := ParseLength(text); err == nil {
			t.Errorf("ParseLength(%q) = %v", text, got)
		}
	}
}

func TestAllowanceSaid(t *testing.T) {
	inc, w, err := Ticket{Allowance: "included"}.AllowanceSaid()
	if !inc || w != nil || err != nil {
		t.Error(inc, w, err)
	}
	if _, w, err = (Ticket{Allowance: "10mm"}).AllowanceSaid(); err != nil || w == nil || *w != 10 {
		t.Error(w, err)
	}
	if inc, w, err = (Ticket{}).AllowanceSaid(); inc || w != nil || err != nil {
		t.Error("an empty ticket says something")
	}
	for _, bad := range []string{"yes", "300mm", "included?"} {
		if _, _, err := (Ticket{Allowance: bad}).AllowanceSaid(); err == nil {
			t.Errorf("%q was taken", bad)
		}
	}
}
