package devices

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// A run with the tool up makes all moves of a job, or one round their bounds.

// ToolUp marks the program's blocks as drawing nothing.
func (p *Program) ToolUp() {
	p.DrawnMM = 0
	for i := range p.Blocks {
		p.Blocks[i].DrawnMM, p.Blocks[i].Down = 0, false
	}
}

// Lifted removes the motions that lower or raise a tool, so that all moves are at the height to which the program's beginning rises.
func Lifted(motions []Motion) []Motion {
	var out []Motion
	for _, m := range motions {
		if m.Kind != Plunge && m.Kind != Raise {
			out = append(out, m)
		}
	}
	return out
}

// RoundBounds is a move once round the box of all of the pivot's moves, at a feed in mm/min.
func RoundBounds(motions []Motion, feed float64) []Motion {
	var all []orb.Point
	var at orb.Point
	for _, m := range motions {
		all = append(all, m.To)
		if m.Kind == CutArc || m.Kind == Swivel {
			all = append(all, arcPoints(at, m)...)
		}
		at = m.To
	}
	corners := BoundsOf(all).Points
	out := []Motion{{Kind: Travel, To: corners[0], Stroke: -1, Piece: -1, Note: "bounds"}}
	for _, i := range []int{1, 2, 3, 0} {
		out = append(out, Motion{Kind: AlignStart, To: corners[i], Feed: feed, Stroke: -1, Piece: -1})
	}
	return out
}

func arcPoints(at orb.Point, m Motion) []orb.Point {
	u := geom.Sub(at, m.Centre)
	v := geom.Sub(m.To, m.Centre)
	sweep, left := math.Atan2(geom.Cross(u, v), geom.Dot(u, v)), geom.Left(u)
	if !m.CCW {
		sweep, left = -sweep, geom.Mul(left, -1)
	}
	if sweep < 0 {
		sweep += 2 * math.Pi
	}
	return geom.FlattenArc(nil, m.Centre, u, left, 0, sweep, 0.01)
}

// BoundsOf is the box round points, as a closed line.
func BoundsOf(points []orb.Point) geom.Path {
	b := orb.MultiPoint(points).Bound()
	return geom.Path{Closed: true, Corners: []bool{true, true, true, true}, Points: b.ToRing()[:4]}
}
