package dxf

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// cornerTurn is the turn between two elements from which the direction breaks: a degree is more
// than rounding makes of a smooth join and less than any corner drawn by hand.
const cornerTurn = math.Pi / 180

// join is what is known of the direction at a vertex.
type join uint8

const (
	smooth join = iota
	corner
	chords // between two straight elements
)

// pen gathers one line of straight stretches, arcs and curves in mm.
type pen struct {
	pts             []orb.Point
	joins           []join
	first, dir      orb.Point
	firstStr, isStr bool
	curved          bool
}

func (p *pen) begin(at orb.Point) {
	*p = pen{pts: append(p.pts[:0], at), joins: append(p.joins[:0], smooth)}
}

// enter settles the vertex at which an element begins.
func (p *pen) enter(in orb.Point, straight bool) {
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

func (p *pen) line(to orb.Point) {
	d := geom.Unit(geom.Sub(to, p.pts[len(p.pts)-1]))
	if d == (orb.Point{}) {
		return
	}
	p.enter(d, true)
	p.pts, p.joins = append(p.pts, to), append(p.joins, smooth)
	p.dir, p.isStr = d, true
}

// arc adds the arc c + u cos t + v sin t from t0 to t1; end is where it ends, without the rounding
// of the way over the centre.
func (p *pen) arc(c, u, v orb.Point, t0, t1 float64, end orb.Point) {
	at := func(t float64) orb.Point {
		s, k := math.Sincos(t)
		return geom.Unit(geom.Mul(geom.Sub(geom.Mul(v, k), geom.Mul(u, s)), math.Copysign(1, t1-t0)))
	}
	p.curve(at(t0), at(t1), func(dst []orb.Point) []orb.Point {
		dst = geom.FlattenArc(dst, c, u, v, t0, t1, arcTol(u, v))
		dst[len(dst)-1] = end
		return dst
	})
}

// arcTol keeps small round pieces true in area too: chords of sagitta s take 4 s / 3 r off the area
// of a circle, here a ten-thousandth, down to radii at which a micrometre is all that is lost.
func arcTol(u, v orb.Point) float64 {
	return math.Min(flattenTol, math.Max(flattenTol/5, 0.75e-4*math.Min(geom.Norm(u), geom.Norm(v))))
}

func (p *pen) curve(in, out orb.Point, flatten func([]orb.Point) []orb.Point) {
	p.enter(in, false)
	p.pts = flatten(p.pts)
	for len(p.joins) < len(p.pts) {
		p.joins = append(p.joins, smooth)
	}
	p.dir, p.isStr = out, false
}

// path ends the line. One whose ends agree within the closing tolerance is closed; closed asks for
// a straight stretch back to the start where they do not. ok is false for a line of no length.
func (p *pen) path(closed bool) (path geom.Path, ok bool) {
	n := len(p.pts)
	if n < 2 {
		return geom.Path{}, false
	}
	gap := geom.Dist(p.pts[0], p.pts[n-1])
	switch {
	case n > 2 && gap <= geom.CloseTol && (gap < geom.Tiny || closed || p.longerThan(4*geom.CloseTol)):
		closed = true
		n--
		p.joins[0] = joinOf(p.dir, p.first, p.isStr && p.firstStr)
	case closed && n > 2:
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

func (p *pen) longerThan(l float64) bool {
	var sum float64
	for i := 1; i < len(p.pts); i++ {
		if sum += geom.Dist(p.pts[i-1], p.pts[i]); sum > l {
			return true
		}
	}
	return false
}

// corners marks the vertices at which the direction breaks. Between straight elements beside
// curves, the turn and the fineness decide.
func (p *pen) corners(q geom.Path) []bool {
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
