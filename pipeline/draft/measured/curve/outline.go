package curve

import (
	"math"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// Edge is one edge of a piece, running the way the outline does.
type Edge struct {
	Name   string
	Curve  Curve
	Fold   bool
	Line   int
	Column int
}

// Kind is the trade's word in the edge's name, its last: "side waist" and "waist" are both waist.
func (e Edge) Kind() string { return e.Name[strings.LastIndexByte(e.Name, ' ')+1:] }

// InnerAngle is the inner angle of the piece, in degrees, between an edge and the next.
func InnerAngle(edges []Edge, i int, ccw float64) float64 {
	n := len(edges)
	a, b := edges[i].Curve, edges[(i+1)%n].Curve
	in, out := a[len(a)-1].Dir(1), b[0].Dir(0)
	turn := math.Atan2(geom.Cross(in, out), geom.Dot(in, out)) * 180 / math.Pi
	return 180 - turn*ccw
}

// Beside is the stretch at a distance to its left; false where it would turn inside out.
func (s Segment) Beside(by float64) (Segment, bool) {
	move := func(t float64) orb.Point { return geom.Add(s.At(t), geom.Mul(geom.Left(s.Dir(t)), by)) }
	a, b := move(0), move(1)
	switch {
	case s.IsArc():
		r := s.Radius() - by*Sign(s.Sweep)
		return Segment{From: a, To: b, Centre: s.Centre, Sweep: s.Sweep}, r > 1e-6
	case s.Cubic:
		k := geom.Dist(a, b) / geom.Dist(s.From, s.To)
		return CubicSeg(a, geom.Add(a, geom.Mul(geom.Sub(s.h1, s.From), k)), geom.Add(b, geom.Mul(geom.Sub(s.h2, s.To), k)), b),
			geom.Dot(geom.Sub(b, a), geom.Sub(s.To, s.From)) > 0
	}
	return LineSeg(a, b), true
}

// IndexOf finds an edge by name, -1 where there is none.
func IndexOf(edges []Edge, name string) int {
	for i, ed := range edges {
		if ed.Name == name {
			return i
		}
	}
	return -1
}

// Orientation is 1 where the outline runs so that the piece lies to the left in the draft's frame.
func Orientation(edges []Edge) float64 {
	var a float64
	for _, ed := range edges {
		a += ed.Curve.Area()
	}
	return Sign(a)
}

// Area is the enclosed area in the draft's unit.
func Area(edges []Edge) float64 {
	var a float64
	for _, ed := range edges {
		a += ed.Curve.Area()
	}
	return math.Abs(a)
}
