package pattern

import (
	"slices"
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
		{"cm", orb.Point{250, 215}, "5 cm from U along the top, 1.5 cm outside it"},
		{"cm", orb.Point{250, 185}, "5 cm back and 1.5 cm down from U"},
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
	// A strip has no points: its corners are told by the edges that meet there. Drafts that draw alone have coordinates.
	strip := Piece{Sew: pc.Sew, Edges: []Edge{{Name: "end", First: 1}, {Name: "far edge", First: 2}, {Name: "far end", First: 3}, {Name: "long edge", First: 0}}}
	slices.SortFunc(strip.Edges, func(a, b Edge) int { return a.First - b.First })
	for at, want := range map[orb.Point]string{
		{300, 0}:  "the corner of long edge and end",
		{20, 0}:   "2 cm from the corner with far end along the long edge",
		{300, 40}: "4 cm from the corner with long edge along the end",
		{250, 40}: "5 cm back and 4 cm up from the corner of long edge and end",
	} {
		m := Pattern{Unit: "cm", Format: "measured", Pieces: []Piece{strip}}
		if got := m.Places("").SayOn(&strip, at); got != want {
			t.Errorf("%v: %q, want %q", at, got, want)
		}
		if d := (&Pattern{Unit: "cm", Format: "dxf"}); d.Places("").SayOn(&strip, at) != d.Places("").Say(at) {
			t.Errorf("%v of a DXF draft: %q", at, d.Places("").SayOn(&strip, at))
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
