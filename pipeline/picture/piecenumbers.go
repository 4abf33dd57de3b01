package picture

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// Numbers are the pieces' numbers, by which a person says with which piece a cut goes on, each at the place farthest
// from its piece's lines. The cut line of a piece on the fold is open, and is taken as closed by the straight line
// between its ends. A single piece has no number.
func Numbers(strokes []devices.Stroke, length float64) (words []Words) {
	order, lines, outline := byPiece(strokes)
	if len(order) < 2 {
		return nil
	}
	for _, n := range order {
		at, room := roomiest(outline[n], lines[n])
		if room > 0 {
			high := math.Min(room, math.Max(15, length/40)) // four digits are twice as wide as high
			words = append(words, Words{Text: strconv.Itoa(n + 1), At: orb.Point{at[0], at[1] - high/2}, Height: high})
		}
	}
	return words
}

// NumberedPiece is a piece of a lay with the number a person calls it by, and the closed line round it.
type NumberedPiece struct {
	Number  int
	Name    string
	Outline geom.Path
}

// NumberedPieces are the pieces with the numbers of Numbers, the largest first, so that a piece within another lies on
// top.
func NumberedPieces(strokes []devices.Stroke) (out []NumberedPiece) {
	order, _, outline := byPiece(strokes)
	if len(order) < 2 {
		return nil
	}
	names := map[int]string{}
	for _, s := range strokes {
		names[s.Piece] = s.Name
	}
	for _, n := range order {
		out = append(out, NumberedPiece{Number: n + 1, Name: names[n], Outline: outline[n]})
	}
	slices.SortStableFunc(out, func(a, b NumberedPiece) int {
		return cmp.Compare(math.Abs(b.Outline.SignedArea()), math.Abs(a.Outline.SignedArea()))
	})
	return out
}

// byPiece groups strokes by piece: the pieces, counted from 0, in the order in which they begin, their lines, and the
// outline of each.
func byPiece(strokes []devices.Stroke) (order []int, lines map[int][]geom.Path, outline map[int]geom.Path) {
	lines, outline = map[int][]geom.Path{}, map[int]geom.Path{}
	for _, s := range strokes {
		if s.Piece < 0 || len(s.Path.Points) == 0 {
			continue
		}
		if lines[s.Piece] == nil {
			order = append(order, s.Piece)
		}
		lines[s.Piece] = append(lines[s.Piece], s.Path)
		line := s.Path
		line.Closed = line.Closed || s.Role == string(pattern.RoleCut)
		if line.Closed && math.Abs(line.SignedArea()) > math.Abs(outline[s.Piece].SignedArea()) {
			outline[s.Piece] = line
		}
	}
	return order, lines, outline
}

// roomiest is the place of a grid within an outline that is farthest from all lines, and its distance.
func roomiest(outline geom.Path, lines []geom.Path) (at orb.Point, room float64) {
	if !outline.Closed {
		return at, 0
	}
	const grid = 12
	b, near := outline.Bound(), geom.NewIndex(lines...)
	for i := range grid {
		for k := range grid {
			q := orb.Point{b.Min[0] + (float64(i)+0.5)*(b.Max[0]-b.Min[0])/grid, b.Min[1] + (float64(k)+0.5)*(b.Max[1]-b.Min[1])/grid}
			if !outline.Contains(q) {
				continue
			}
			if _, n := near.Nearest(q); n.Dist > room {
				at, room = q, n.Dist
			}
		}
	}
	return at, room
}
