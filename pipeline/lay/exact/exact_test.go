package exact

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
)

func box(x, y, w, h float64) []orb.Point {
	return []orb.Point{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}
}

// TestPairs checks for pairs of outlines whether they are sound beside each other.
func TestPairs(t *testing.T) {
	slot := []orb.Point{{0, 0}, {100, 0}, {100, 60}, {60, 60}, {60, 20}, {40, 20}, {40, 60}, {0, 60}}
	frame := Piece{Outline: box(0, 0, 100, 100), Holes: [][]orb.Point{box(20, 20, 60, 60)}}
	plain := func(o []orb.Point) Piece { return Piece{Outline: o} }
	for name, c := range map[string]struct {
		a, b  Piece
		gap   float64
		sound bool
	}{
		"apart":                        {plain(box(0, 0, 10, 10)), plain(box(20, 0, 10, 10)), 0, true},
		"edge to edge":                 {plain(box(0, 0, 10, 10)), plain(box(10, 0, 10, 10)), 0, true},
		"4 µm deep":                    {plain(box(0, 0, 10, 10)), plain(box(9.996, 0, 10, 10)), 0, true},
		"6 µm deep":                    {plain(box(0, 0, 10, 10)), plain(box(9.994, 0, 10, 10)), 0, false},
		"stacked":                      {plain(box(0, 0, 10, 10)), plain(box(0, 0, 10, 10)), 0, false},
		"stacked, the other way round": {plain(box(0, 0, 10, 10)), plain([]orb.Point{{0, 0}, {0, 10}, {10, 10}, {10, 0}}), 0, false},
		"within":                       {plain(box(0, 0, 10, 10)), plain(box(4, 4, 2, 2)), 0, false},
		"a cross of bars":              {plain(box(0, 40, 100, 2)), plain(box(40, 0, 2, 100)), 0, false},
		"a corner, 4 µm":               {plain(box(0, 0, 10, 10)), plain([]orb.Point{{9.996, 5}, {20, 0}, {20, 10}}), 0, true},
		"a corner, 10 µm":              {plain(box(0, 0, 10, 10)), plain([]orb.Point{{9.99, 5}, {20, 0}, {20, 10}}), 0, false},
		"in a hole":                    {frame, plain(box(30, 30, 20, 20)), 0, true},
		"filling a hole":               {frame, plain(box(20, 20, 60, 60)), 0, true},
		"too large for a hole":         {frame, plain(box(19, 20, 62, 60)), 0, false},
		"the frame twice":              {frame, frame, 0, false},
		"a peg in its slot":            {plain(slot), plain(box(40, 20, 20, 40)), 0, true},
		"a peg in its slot, too deep":  {plain(slot), plain(box(40, 19.99, 20, 40)), 0, false},
		"2 mm apart":                   {plain(box(0, 0, 10, 10)), plain(box(12, 0, 10, 10)), 2, true},
		"1.9 mm apart":                 {plain(box(0, 0, 10, 10)), plain(box(11.9, 0, 10, 10)), 2, false},
		"1.9 mm apart, edge by corner": {plain(box(0, 0, 10, 10)), plain([]orb.Point{{11.9, 5}, {20, -20}, {20, 20}}), 2, false},
		"2 mm by both, corners":        {plain(box(0, 0, 10, 10)), plain(box(11.5, 11.5, 10, 10)), 2, true},
		"crossing, asked to be apart":  {plain(box(0, 40, 100, 2)), plain(box(40, 0, 2, 100)), 2, false},
		"within, asked to be apart":    {plain(box(0, 0, 100, 100)), plain(box(40, 40, 20, 20)), 2, false},
		"in a hole, 10 mm round it":    {frame, plain(box(30, 30, 40, 40)), 10, true},
		"in a hole, too near":          {frame, plain(box(29, 30, 40, 40)), 10, false},
		"touching, 3 µm asked":         {plain(box(0, 0, 10, 10)), plain(box(10, 0, 10, 10)), 0.003, true},
		"4 µm deep, 3 µm asked":        {plain(box(0, 0, 10, 10)), plain(box(9.996, 0, 10, 10)), 0.003, false},
	} {
		for k, pair := range [][]Piece{{c.a, c.b}, {c.b, c.a}} {
			if f := Check(Strip{Width: 1000, Gap: c.gap}, shifted(pair, 200, 200)); len(f) == 0 != c.sound {
				t.Errorf("%s (%d): %v", name, k, f)
			}
		}
	}
}

func shifted(pieces []Piece, x, y float64) []Piece {
	move := func(r []orb.Point) []orb.Point {
		var out []orb.Point
		for _, q := range r {
			out = append(out, orb.Point{q[0] + x, q[1] + y})
		}
		return out
	}
	var out []Piece
	for _, p := range pieces {
		m := Piece{Outline: move(p.Outline)}
		for _, h := range p.Holes {
			m.Holes = append(m.Holes, move(h))
		}
		out = append(out, m)
	}
	return out
}

func TestStripAndZones(t *testing.T) {
	zone := []orb.Point{{50, 0}, {60, 0}, {60, 30}, {50, 30}}
	for name, c := range map[string]struct {
		s     Strip
		p     Piece
		fault int
	}{
		"inside":         {Strip{Width: 20, Length: 30}, Piece{Outline: box(0, 0, 30, 20)}, 0},
		"too long":       {Strip{Width: 20, Length: 30}, Piece{Outline: box(0.01, 0, 30, 20)}, Outside},
		"endless":        {Strip{Width: 20}, Piece{Outline: box(1e5, 0, 30, 20)}, 0},
		"below":          {Strip{Width: 20}, Piece{Outline: box(0, -0.01, 30, 20)}, Outside},
		"above":          {Strip{Width: 20}, Piece{Outline: box(0, 0.01, 30, 20)}, Outside},
		"left":           {Strip{Width: 20}, Piece{Outline: box(-0.01, 0, 30, 20)}, Outside},
		"beside a zone":  {Strip{Width: 40, Gap: 5, Avoid: [][]orb.Point{zone}}, Piece{Outline: box(20, 0, 30, 20)}, 0},
		"in a zone":      {Strip{Width: 40, Avoid: [][]orb.Point{zone}}, Piece{Outline: box(21, 0, 30, 20)}, InZone},
		"over a zone":    {Strip{Width: 40, Avoid: [][]orb.Point{zone}}, Piece{Outline: box(0, 0, 100, 40)}, InZone},
		"no outline":     {Strip{Width: 40}, Piece{}, NoShape},
		"no number":      {Strip{Width: 40}, Piece{Outline: []orb.Point{{0, 0}, {math.NaN(), 0}, {1, 1}}}, NoShape},
		"no area":        {Strip{Width: 40}, Piece{Outline: []orb.Point{{0, 0}, {1, 1}, {2, 2}}}, NoShape},
		"point repeated": {Strip{Width: 40}, Piece{Outline: append(box(0, 0, 10, 10), orb.Point{0, 0})}, 0},
	} {
		f := Check(c.s, []Piece{c.p})
		if c.fault == 0 && len(f) > 0 || c.fault != 0 && (len(f) != 1 || f[0].B != c.fault || f[0].String() == "") {
			t.Errorf("%s: %v", name, f)
		}
	}
}
