// Package export writes a pattern in the open forms that the readers take: SVG whose elements bear
// roles, and DXF with the layers of the sewn-products interchange standard (ASTM D6673, from public
// transcriptions of its layer list). Read back, the pieces have the same lines within 0.01 mm.
package export

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// Notches, drill marks, names, sizes and quantities are the same when they are read back; pieces that lie
// on one another are drawn beside one another. Names of edges, their allowances apart from the cut line,
// seam pairs and notch names have no place in either form.

// line is a drawn line of a piece with its role.
type line struct {
	role pattern.Role
	path geom.Path
	name string // of an inner line
}

// lines are all lines of a piece: the cut line first, the grain line last.
func lines(pc *pattern.Piece) []line {
	var out []line
	if pc.Cut != nil {
		out = append(out, line{role: pattern.RoleCut, path: *pc.Cut})
	}
	for _, s := range pc.Sew {
		out = append(out, line{role: pattern.RoleSew, path: s})
	}
	for _, c := range pc.Cutouts {
		out = append(out, line{role: pattern.RoleCutout, path: c})
	}
	for _, m := range pc.Marks {
		out = append(out, line{m.Role, m.Path, m.Label})
	}
	if f := pc.FoldLine(); f != nil {
		out = append(out, line{role: pattern.RoleFold, path: geom.Path{Points: []orb.Point{f.A, f.B}}})
	}
	if g := pc.Grain; g != nil {
		out = append(out, line{role: pattern.RoleGrain, path: geom.Path{Points: []orb.Point{g.A, g.B}}})
	}
	return out
}

// boundOf holds all that is drawn of a piece, in mm.
func boundOf(pc *pattern.Piece) orb.Bound {
	b := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	for _, l := range lines(pc) {
		b = b.Union(l.path.Bound())
	}
	for _, n := range pc.Notches {
		b = b.Extend(n.At)
	}
	for _, d := range pc.Drills {
		b = b.Extend(d.At)
	}
	for _, l := range pc.Labels {
		b = b.Extend(l.At)
	}
	return b
}

const (
	between = 20.0   // mm from piece to piece
	row     = 2000.0 // mm of pieces beside one another before the next row begins
)

// places says by how much each piece is moved: not at all where no two lie on one another, else beside one
// another in rows. The bound holds all pieces, moved.
func places(p *pattern.Pattern) ([]orb.Point, orb.Bound) {
	moves, bounds := make([]orb.Point, len(p.Pieces)), make([]orb.Bound, len(p.Pieces))
	apart := true
	for i := range p.Pieces {
		bounds[i] = boundOf(&p.Pieces[i])
		for _, other := range bounds[:i] {
			apart = apart && !other.Intersects(bounds[i])
		}
	}
	var x, y, deep float64
	whole := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	for i, b := range bounds {
		w, h := b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]
		if !apart {
			if x > 0 && x+w > row {
				x, y, deep = 0, y-deep-between, 0
			}
			moves[i] = orb.Point{x - b.Min[0], y - b.Max[1]} // the rows run downward
			x, deep = x+w+between, math.Max(deep, h)
		}
		whole = whole.Union(orb.Bound{Min: geom.Add(b.Min, moves[i]), Max: geom.Add(b.Max, moves[i])})
	}
	return moves, whole
}

// quantity says how many to cut so that a reader finds the same number and hands.
func quantity(pc *pattern.Piece) string {
	switch n := pc.Quantity; {
	case n == 0:
		return ""
	case pc.Alike:
		return fmt.Sprintf("%d, alike", n)
	case pc.Pair && n == 2:
		return "2, a pair"
	case pc.Pair && n%2 == 0:
		return fmt.Sprintf("%d pairs", n/2)
	case pc.Pair:
		return fmt.Sprintf("%d, mirrored", n)
	default:
		return strconv.Itoa(n)
	}
}

// number writes mm to a hundredth of a micrometre, without zeros that say nothing.
func number(v float64) string {
	s := strings.TrimRight(strings.TrimRight(strconv.FormatFloat(v, 'f', 5, 64), "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}

// letters is the height of letters, in mm, where the draft says none.
const letters = 7.0
