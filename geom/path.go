// Package geom is the plane geometry of all rooms: paths in millimetres with y up, affine maps, curves, crossings. It
// knows nothing of sewing, devices or files. Points and rings are orb's types; lengths are float64 millimetres, angles
// are radians unless a name ends in Deg, counter-clockwise is positive.
package geom

import (
	"math"

	"github.com/paulmach/orb"
)

// Path is a polyline. Its vertices lie on the true line; between two vertices that are no corners
// the true line is a smooth curve which the chords leave by no more than FlattenTol.
//
// The zero Path is empty: length 0, area 0, an empty bound.
type Path struct {
	// Points are the vertices in order. A closed path does not repeat its first point at the end.
	Points []orb.Point
	// Corners tells for each vertex whether the direction is meant to break there. It has the
	// length of Points, or is nil, which means that every vertex is a corner.
	Corners []bool
	// Closed paths run back from the last point to the first.
	Closed bool
}

// Corner tells whether vertex i is a corner. The ends of an open path always are.
func (p Path) Corner(i int) bool {
	if !p.Closed && (i == 0 || i == len(p.Points)-1) {
		return true
	}
	return p.Corners == nil || p.Corners[i]
}

// Segments is the number of straight stretches: one less than the points, or as many when closed.
// A path of fewer than two points has none.
func (p Path) Segments() int {
	n := len(p.Points)
	switch {
	case n < 2:
		return 0
	case p.Closed:
		return n
	default:
		return n - 1
	}
}

// Segment gives the ends of stretch i, 0 <= i < Segments().
func (p Path) Segment(i int) (a, b orb.Point) {
	if i+1 == len(p.Points) {
		return p.Points[i], p.Points[0]
	}
	return p.Points[i], p.Points[i+1]
}

// Length is the length along the chords in mm.
func (p Path) Length() float64 {
	var sum float64
	for i := range p.Segments() {
		a, b := p.Segment(i)
		sum += Dist(a, b)
	}
	return sum
}

// SignedArea is the enclosed area in mm2, positive when counter-clockwise. An open path counts as
// closed by its chord. Coordinates are taken relative to the first point, so that a drawing far
// from the origin keeps its precision.
func (p Path) SignedArea() float64 {
	if len(p.Points) < 3 {
		return 0
	}
	o := p.Points[0]
	var sum float64
	for i := 1; i+1 < len(p.Points); i++ {
		sum += Cross(Sub(p.Points[i], o), Sub(p.Points[i+1], o))
	}
	return sum / 2
}

// Area is the absolute of SignedArea.
func (p Path) Area() float64 { return math.Abs(p.SignedArea()) }

// Bound is the box round the vertices; of an empty path, orb's empty bound.
func (p Path) Bound() orb.Bound {
	return orb.MultiPoint(p.Points).Bound()
}

// Clone copies the path, so that the copy may be changed.
func (p Path) Clone() Path {
	q := Path{Points: append([]orb.Point(nil), p.Points...), Closed: p.Closed}
	if p.Corners != nil {
		q.Corners = append([]bool(nil), p.Corners...)
	}
	return q
}

// Reversed runs the other way. A closed path keeps its first point first.
func (p Path) Reversed() Path {
	q := p.Clone()
	lo := 0
	if p.Closed {
		lo = 1
	}
	for i, j := lo, len(q.Points)-1; i < j; i, j = i+1, j-1 {
		q.Points[i], q.Points[j] = q.Points[j], q.Points[i]
		if q.Corners != nil {
			q.Corners[i], q.Corners[j] = q.Corners[j], q.Corners[i]
		}
	}
	return q
}

// CounterClockwise gives the path with positive area.
func (p Path) CounterClockwise() Path {
	if p.SignedArea() < 0 {
		return p.Reversed()
	}
	return p
}

// Ring is the closed form that orb's planar functions want: the first point repeated at the end.
func (p Path) Ring() orb.Ring {
	if len(p.Points) == 0 {
		return nil
	}
	r := make(orb.Ring, 0, len(p.Points)+1)
	r = append(r, p.Points...)
	return append(r, p.Points[0])
}

// Apply maps every vertex. Under a mirroring map the winding turns over; the order of the vertices
// stays.
func (p Path) Apply(m Affine) Path {
	q := p.Clone()
	for i, pt := range q.Points {
		q.Points[i] = m.Apply(pt)
	}
	return q
}

// Sub is a - b.
func Sub(a, b orb.Point) orb.Point { return orb.Point{a[0] - b[0], a[1] - b[1]} }

// Add is a + b.
func Add(a, b orb.Point) orb.Point { return orb.Point{a[0] + b[0], a[1] + b[1]} }

// Mul is a scaled by k.
func Mul(a orb.Point, k float64) orb.Point { return orb.Point{a[0] * k, a[1] * k} }

// Lerp is the point t of the way from a to b.
func Lerp(a, b orb.Point, t float64) orb.Point {
	return orb.Point{a[0] + (b[0]-a[0])*t, a[1] + (b[1]-a[1])*t}
}

// Dot is the scalar product.
func Dot(a, b orb.Point) float64 { return a[0]*b[0] + a[1]*b[1] }

// Cross is the z part of the vector product: positive when b lies to the left of a.
func Cross(a, b orb.Point) float64 { return a[0]*b[1] - a[1]*b[0] }

// Norm is the length of a vector. It squares, so that beyond 1e150 mm it overflows; math.Hypot
// would not, and takes several times as long.
func Norm(a orb.Point) float64 { return math.Sqrt(a[0]*a[0] + a[1]*a[1]) }

// Dist is the distance of two points.
func Dist(a, b orb.Point) float64 { return Norm(Sub(b, a)) }

// Unit is the vector at length 1, and the zero vector for one shorter than Tiny.
func Unit(a orb.Point) orb.Point {
	n := Norm(a)
	if n < Tiny {
		return orb.Point{}
	}
	return orb.Point{a[0] / n, a[1] / n}
}

// Left is the vector turned a quarter counter-clockwise.
func Left(a orb.Point) orb.Point { return orb.Point{-a[1], a[0]} }
