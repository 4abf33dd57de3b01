package assemble

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// join is what is known of the direction at a vertex.
type join uint8

const (
	smooth join = iota
	corner
	chords // between two straight elements
)

// Pen gathers one line of straight stretches and curves, in mm, and keeps what the elements tell and
// their chords no longer do: where the direction breaks. The zero value needs Begin first.
type Pen struct {
	pts             []orb.Point
	joins           []join
	first, dir      orb.Point // the direction at the start, and at the end of the last element
	firstStr, isStr bool      // whether those elements are straight
	curved          bool
}

// Begin drops what was drawn and starts at a point.
func (p *Pen) Begin(at orb.Point) {
	*p = Pen{pts: append(p.pts[:0], at), joins: append(p.joins[:0], smooth)}
}

// Drop drops what was drawn.
func (p *Pen) Drop() { *p = Pen{pts: p.pts[:0], joins: p.joins[:0]} }

// Points are those drawn so far, the Pen's own.
func (p *Pen) Points() []orb.Point { return p.pts }

// Curved tells whether any element was no straight one.
func (p *Pen) Curved() bool { return p.curved }

// enter settles the vertex at which an element begins.
func (p *Pen) enter(in orb.Point, straight bool) {
	if len(p.pts) == 1 {
		p.first, p.firstStr = in, straight
	} else {
		p.joins[len(p.joins)-1] = joinOf(p.dir, in, p.isStr && straight)
	}
	p.curved = p.curved || !straight
}

func joinOf(in, out orb.Point, bothStraight bool) join {
	if bothStraight {
		return chords
	}
	if math.Abs(math.Atan2(geom.Cross(in, out), geom.Dot(in, out))) >= cornerTurn {
		return corner
	}
	return smooth
}

// Line draws a straight stretch; one of no length is left out.
func (p *Pen) Line(to orb.Point) {
	d := geom.Unit(geom.Sub(to, p.pts[len(p.pts)-1]))
	if d == (orb.Point{}) {
		return
	}
	p.enter(d, true)
	p.pts, p.joins = append(p.pts, to), append(p.joins, smooth)
	p.dir, p.isStr = d, true
}

// Curve draws what a flattener appends, which runs in the directions in and out at its ends.
func (p *Pen) Curve(in, out orb.Point, flatten func([]orb.Point) []orb.Point) {
	p.enter(in, false)
	p.pts = flatten(p.pts)
	for len(p.joins) < len(p.pts) {
		p.joins = append(p.joins, smooth)
	}
	p.dir, p.isStr = out, false
}

// Arc draws the arc c + u cos t + v sin t from t0 to t1, radians; end is where it ends, without the
// rounding of the way over the centre.
func (p *Pen) Arc(c, u, v orb.Point, t0, t1 float64, end orb.Point) {
	at := func(t float64) orb.Point {
		s, k := math.Sincos(t)
		return geom.Unit(geom.Mul(geom.Sub(geom.Mul(v, k), geom.Mul(u, s)), math.Copysign(1, t1-t0)))
	}
	p.Curve(at(t0), at(t1), func(dst []orb.Point) []orb.Point {
		dst = geom.FlattenArc(dst, c, u, v, t0, t1, Fineness(max(geom.Norm(u), geom.Norm(v))))
		dst[len(dst)-1] = end
		return dst
	})
}

// Path is what was drawn; ok is false where that has no length. Ends that lie within snap, in mm, of
// each other become one, and so do those of a line not said to be closed within the closing
// tolerance; a line that is said to be closed is else given a straight stretch back to its start.
func (p *Pen) Path(closed bool, snap float64) (path geom.Path, ok bool) {
	n := len(p.pts)
	if n < 2 {
		return geom.Path{}, false
	}
	gap := geom.Dist(p.pts[0], p.pts[n-1])
	switch {
	case n > 2 && (gap <= snap || !closed && gap <= geom.CloseTol && p.longerThan(4*geom.CloseTol)):
		closed = true
		n--
		p.joins[0] = joinOf(p.dir, p.first, p.isStr && p.firstStr)
	case n > 2 && closed:
		back := geom.Unit(geom.Sub(p.pts[0], p.pts[n-1]))
		p.joins[n-1], p.joins[0] = joinOf(p.dir, back, p.isStr), joinOf(back, p.first, p.firstStr)
	default:
		closed = false
	}
	q := geom.Path{Points: append(make([]orb.Point, 0, n), p.pts[:n]...), Closed: closed}
	if p.curved {
		q.Corners = p.corners(q)
	}
	return q, true
}

func (p *Pen) longerThan(l float64) bool {
	var sum float64
	for i := 1; i < len(p.pts); i++ {
		if sum += geom.Dist(p.pts[i-1], p.pts[i]); sum > l {
			return true
		}
	}
	return false
}

// corners marks the vertices at which the direction breaks. Where every element is straight, every
// vertex is a corner as drawn; between straight elements beside curves, the turn and the fineness
// decide.
func (p *Pen) corners(q geom.Path) []bool {
	n := len(q.Points)
	is := make([]bool, n)
	var marked geom.Path
	for i := range n {
		switch p.joins[i] {
		case corner:
			is[i] = true
		case chords:
			if marked.Points == nil {
				marked = geom.MarkCorners(geom.Path{Points: q.Points, Closed: q.Closed}, cornerTurn)
			}
			is[i] = marked.Corners[i]
		}
	}
	if !q.Closed {
		is[0], is[n-1] = true, true
	}
	return is
}
