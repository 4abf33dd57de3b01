package picture

import (
	"fmt"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// oblong is a piece of four lettered corners, mm.
func oblong(name string, wide, high float64) pattern.Piece {
	corners := []orb.Point{{0, 0}, {wide, 0}, {wide, high}, {0, high}}
	p := pattern.Piece{Name: name, Quantity: 2, Cut: &geom.Path{Points: corners, Closed: true}}
	for i, c := range corners {
		p.Points = append(p.Points, pattern.Label{Text: string(rune('A' + i)), At: c, Line: 1 + i})
	}
	return p
}

// TestFrameIsFilled: six strips of 120 by 1400 mm are in one row in a frame of 640 by 600, whatever their captions.
// The row is as high as the frame without the gutters, three lines of caption and the legend, which together take less
// than half.
func TestFrameIsFilled(t *testing.T) {
	p := &pattern.Pattern{Unit: "cm"}
	for i := range 6 {
		p.Pieces = append(p.Pieces, oblong(fmt.Sprintf("side panel number %d of the cloak", i+1), 120, 1400))
	}
	c := Pattern(p, nil, Options{Points: true, Handles: true, Wide: 640, High: 600})
	if c.Width != 640 || c.Height > 600.5 || c.Scale*1400 < 300 {
		t.Errorf("%g by %g, the strips %g high", c.Width, c.Height, c.Scale*1400)
	}
	if before := Pattern(p, nil, Options{}); before.Height/before.Width < 1.1 {
		t.Errorf("without a frame the strips come to %g by %g: nothing is shown", before.Width, before.Height)
	}
}

// TestBesideAtOneScale: two bodies' pieces are drawn beside each other, pair by pair, at one scale, and only the
// points of the shown draft lead to its lines.
func TestBesideAtOneScale(t *testing.T) {
	now := &pattern.Pattern{Pieces: []pattern.Piece{oblong("front", 300, 700), oblong("cuff", 200, 80)}}
	was := &pattern.Pattern{Pieces: []pattern.Piece{oblong("cuff", 260, 90), oblong("front", 500, 900)}}
	c := Pattern(now, nil, Options{Handles: true, Wide: 640, High: 600, Beside: was, Before: "body B"})
	at := map[string][]orb.Point{} // a piece's corners A, and its corners B
	lines := map[string][]int{}
	for _, s := range c.shapes {
		if h := s.handle; h != nil && (h.name == "A" || h.name == "B") {
			at[h.piece+h.name] = append(at[h.piece+h.name], *h.at)
			lines[h.piece] = append(lines[h.piece], h.line)
		}
	}
	for piece, wide := range map[string][2]float64{"front": {300, 500}, "cuff": {200, 260}} {
		a, b := at[piece+"A"], at[piece+"B"]
		if len(a) != 2 || len(b) != 2 {
			t.Fatalf("%s is drawn %d times", piece, len(a))
		}
		for i := range a {
			if got := (b[i][0] - a[i][0]) / c.Scale; math.Abs(got-wide[i]) > 1e-6 {
				t.Errorf("%s %d is drawn %g mm wide, and is %g", piece, i, got, wide[i])
			}
		}
		if a[1][0] < b[0][0] || math.Abs(a[1][1]-a[0][1]) > 60 {
			t.Errorf("%s stands at %v, the other's at %v", piece, a[0], a[1])
		}
		if l := lines[piece]; l[0] == 0 || l[2] != 0 {
			t.Errorf("%s leads to lines %v", piece, l)
		}
	}
}
