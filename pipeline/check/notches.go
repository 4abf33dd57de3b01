package check

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// onLine is how far, in mm, a notch may lie from its line and still be on it.
const onLine = 0.5

// notch is one notch with its surroundings.
type notch struct {
	pattern.Notch
	near   geom.Near // on the outline
	inward orb.Point // square to the outline there, into the piece
	// allowance is the distance between cut and sew line there, 0 where nobody knows.
	allowance float64
}

// notches places the notches of a sound piece.
func (s *subject) notches() []notch {
	if !s.sound || s.placed != nil {
		return s.placed
	}
	for _, n := range s.p.Notches {
		_, near := s.onOutline.Nearest(n.At)
		s.placed = append(s.placed, notch{
			Notch: n, near: near, inward: s.inward(near.Segment), allowance: s.allowanceAt(n, near),
		})
	}
	return s.placed
}

// allowanceAt is the distance from the line the notch lies on to the other one.
func (s *subject) allowanceAt(n pattern.Notch, near geom.Near) float64 {
	if w := s.profile(); w != nil {
		if n.OnSew { // a stretch on the fold is no edge to which it is carried
			_, cut := w.cut.Nearest(n.At)
			return cut.Dist
		}
		_, sew := w.sew.Nearest(near.Point)
		return sew.Dist
	}
	if n.Along != nil && n.OnSew && n.Along.Edge < len(s.p.Edges) {
		if w := s.p.Edges[n.Along.Edge].Allowance; w != nil {
			return min(w.From, w.To)
		}
	}
	if s.p.Cut == nil || n.OnSew {
		for _, e := range s.p.Edges {
			if e.Allowance != nil {
				return 0 // edge by edge: known only once the cut line is built
			}
		}
	}
	for _, w := range []*float64{s.p.Allowance, s.lim.Allowance} { // the ticket answers where the draft says nothing
		if w != nil {
			return *w
		}
	}
	return 0
}

// cuts tells whether the notch goes through the cloth.
func (n notch) cuts() bool { return n.Kind != pattern.NotchPen }

// direction is where the notch points, length 1: as the draft says, else square into the piece.
func (n notch) direction() orb.Point {
	if !n.AngleSaid {
		return n.inward
	}
	sin, cos := math.Sincos(n.AngleDeg * math.Pi / 180)
	return orb.Point{cos, sin}
}

// called names a notch for messages.
func (s *subject) called(n notch) string {
	kind := string(n.Kind)
	switch n.Kind {
	case pattern.NotchV, pattern.NotchT, pattern.NotchU:
		kind = "the " + map[pattern.NotchKind]string{pattern.NotchV: "V", pattern.NotchT: "T", pattern.NotchU: "U"}[n.Kind] + " notch"
	case pattern.NotchNick, "":
		kind = "the nick"
	case pattern.NotchPen:
		kind = "the pen mark"
	default:
		kind = "the " + kind + " notch"
	}
	if n.Name != "" {
		kind += " " + n.Name
	}
	if n.Along != nil && n.Along.Words != "" && n.Along.Edge < len(s.p.Edges) {
		return kind + " on the " + edgeName(s.p.Edges[n.Along.Edge]) + " of " + s.p.Name + ", " + n.Along.Words + ","
	}
	return kind + " on the " + facing(n.inward) + " edge at " + s.place(n.At)
}

// facing is the side of the piece, as one looks at it, to which an edge looks.
func facing(inward orb.Point) string {
	level, side := "lower", "left"
	if inward[1] < 0 {
		level = "upper"
	}
	if inward[0] < 0 {
		side = "right"
	}
	switch x, y := math.Abs(inward[0]), math.Abs(inward[1]); {
	case x >= 2*y:
		return side + " side"
	case y >= 2*x:
		return level
	}
	return level + " " + side
}
