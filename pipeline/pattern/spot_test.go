package pattern

import (
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// A place on a measured draft is told by its points and edges. The piece is 300 by 200 mm; distances by hand.
func TestPlacesByPointsAndEdges(t *testing.T) {
	pc := Piece{
		Sew:    []geom.Path{{Points: []orb.Point{{0, 0}, {300, 0}, {300, 200}, {0, 200}}, Corners: []bool{true, true, true, true}, Closed: true}},
		Edges:  []Edge{{Name: "side", First: 1}, {Name: "top", First: 2}, {Kind: "centre", First: 3}},
		Points: []Label{{At: orb.Point{300, 200}, Text: "U"}, {At: orb.Point{300, 0}, Text: "H"}, {At: orb.Point{0, 0}, Text: "O"}},
	}
	for _, c := range []struct {
		unit string
		at   orb.Point
		want string
	}{
		{"cm", orb.Point{300, 200}, "U"},
		{"cm", orb.Point{300.1, 200.1}, "U"},
		{"cm", orb.Point{300, 120}, "8 cm from U along the side"},
		{"cm", orb.Point{300.2, 65}, "6.5 cm from H along the side"},
		{"mm", orb.Point{10, 200}, "290 mm from U along the top"},
		{"in", orb.Point{25.4, 0}, "1 in from O along the centre"}, // the edge that runs over the line's start
		{"cm", orb.Point{250, 215}, "5 cm back and 1.5 cm up from U"},
		{"in", orb.Point{127, 25.4}, "5 in out and 1 in up from O"},
		{"cm", orb.Point{300, -30}, "3 cm down from H"},
	} {
		p := Pattern{Unit: c.unit, Format: "measured", Pieces: []Piece{pc}}
		if got := p.Places("").SayOn(&pc, c.at); got != c.want {
			t.Errorf("%v: %q, want %q", c.at, got, c.want)
		}
		if got := p.Places("").WhereIs(Finding{At: &c.at}); got != "at "+c.want {
			t.Errorf("%v: %q in a line of its own", c.at, got)
		}
	}
	// Without points, and without a piece, it is told as the file has it.
	p := Pattern{Pieces: []Piece{{Name: "A"}}, PageHeight: 300}
	if got := p.Places("").SayOn(&p.Pieces[0], orb.Point{10, 20}); got != "(10, 280)" {
		t.Error(got)
	}
	if got := p.Places("").WhereIs(Finding{At: &orb.Point{10, 20}, Index: -1}); got != "at 10, 280 mm from the page's upper left corner, y down" {
		t.Error(got)
	}
	if got := p.Places("").WhereIs(Finding{}); got != "" {
		t.Error(got)
	}
}
