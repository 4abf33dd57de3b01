package svg

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/assemble"
)

// cornerTurn is the turn between two elements from which the direction breaks: a degree is more
// than what rounded control points make of a smooth join and less than any corner drawn by hand.
const cornerTurn = math.Pi / 180

// zSnap is how near, in mm, the end of a subpath must come to its start for z to add no stretch:
// the rounding of a file with three decimals.
const zSnap = 0.001

// bendShare is the radius of a curve as a share of its control polygon's length, as in a quarter
// circle.
const bendShare = 0.6

// join is what is known of the direction at a vertex.
type join uint8

const (
	smooth join = iota
	corner
	chords // between two straight elements
)

// pen draws elements given in user units and gathers the flattened subpaths in mm.
type pen struct {
	m     geom.Affine
	emit  func(geom.Path)
	pts   []orb.Point
	joins []join
	// cur and start are in user units.
	cur, start orb.Point
	// dir is the direction at the end of the last element, first at the start of the subpath.
	dir, first           orb.Point
	straight, firstIsStr bool
	curved, moved        bool
	far                  bool // some point lies out of bounds
}

func (p *pen) begin(m geom.Affine, emit func(geom.Path)) {
	*p = pen{m: m, emit: emit, pts: p.pts[:0], joins: p.joins[:0]}
}

func (p *pen) move(to orb.Point) {
	p.flush(false)
	p.cur, p.start, p.moved = to, to, true
}

// open starts the subpath's points, if they are not yet.
func (p *pen) open() {
	if len(p.pts) == 0 {
		p.moved = false
		p.start = p.cur
		p.add(p.m.Apply(p.cur))
	}
}

func (p *pen) add(pt orb.Point) {
	if !(math.Abs(pt[0]) <= maxCoord && math.Abs(pt[1]) <= maxCoord) {
		p.far = true
	}
	p.pts, p.joins = append(p.pts, pt), append(p.joins, smooth)
}

// enter settles the vertex at which an element begins, going in direction in.
func (p *pen) enter(in orb.Point, straight bool) {
	if len(p.pts) == 1 {
		p.first, p.firstIsStr = in, straight
	} else {
		p.joins[len(p.joins)-1] = joinOf(p.dir, in, p.straight && straight)
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

func (p *pen) leave(to, dir orb.Point, straight bool) {
	p.cur, p.dir, p.straight = to, dir, straight
}

func (p *pen) line(to orb.Point) {
	p.open()
	a, b := p.pts[len(p.pts)-1], p.m.Apply(to)
	d := geom.Unit(geom.Sub(b, a))
	if d == (orb.Point{}) {
		p.cur = to
		return
	}
	p.enter(d, true)
	p.add(b)
	p.leave(to, d, true)
}

func (p *pen) quad(c, to orb.Point) {
	p.open()
	a, b, z := p.pts[len(p.pts)-1], p.m.Apply(c), p.m.Apply(to)
	p.curve(to, firstDir(a, b, z), firstDir(z, b, a), func(dst []orb.Point) []orb.Point {
		return geom.FlattenQuad(dst, a, b, z, assemble.Fineness(bendShare*(geom.Dist(a, b)+geom.Dist(b, z))))
	})
}

func (p *pen) cubic(c1, c2, to orb.Point) {
	p.open()
	a, b, c, z := p.pts[len(p.pts)-1], p.m.Apply(c1), p.m.Apply(c2), p.m.Apply(to)
	p.curve(to, firstDir(a, b, c, z), firstDir(z, c, b, a), func(dst []orb.Point) []orb.Point {
		hull := geom.Dist(a, b) + geom.Dist(b, c) + geom.Dist(c, z)
		return geom.FlattenCubic(dst, a, b, c, z, assemble.Fineness(bendShare*hull))
	})
}

// firstDir is the direction from the first point to the next that differs from it.
func firstDir(p ...orb.Point) orb.Point {
	for _, q := range p[1:] {
		if u := geom.Unit(geom.Sub(q, p[0])); u != (orb.Point{}) {
			return u
		}
	}
	return orb.Point{}
}

// curve adds what a flattener appends; back is the direction at the end looking backwards.
func (p *pen) curve(to, in, back orb.Point, flatten func([]orb.Point) []orb.Point) {
	if in == (orb.Point{}) { // all control points agree
		p.cur = to
		return
	}
	p.enter(in, false)
	n := len(p.pts)
	p.pts = flatten(p.pts)
	for _, pt := range p.pts[n:] {
		if !(math.Abs(pt[0]) <= maxCoord && math.Abs(pt[1]) <= maxCoord) {
			p.far = true
		}
		p.joins = append(p.joins, smooth)
	}
	p.leave(to, geom.Mul(back, -1), false)
}

// arc draws an elliptic arc in SVG's endpoint form.
func (p *pen) arc(rx, ry, tilt float64, large, sweep bool, to orb.Point) {
	p.open()
	if p.cur == to {
		return
	}
	a, ok := arcCentre(p.cur, to, rx, ry, tilt, large, sweep)
	if !ok {
		p.line(to)
		return
	}
	c, u, v := p.m.Apply(a.c), p.m.Vector(a.u), p.m.Vector(a.v)
	at := func(t float64) orb.Point { // direction of growing t
		s, k := math.Sincos(t)
		return geom.Unit(geom.Sub(geom.Mul(v, k), geom.Mul(u, s)))
	}
	turn := math.Copysign(1, a.sweep)
	end := p.m.Apply(to)
	p.curve(to, geom.Mul(at(a.start), turn), geom.Mul(at(a.start+a.sweep), -turn), func(dst []orb.Point) []orb.Point {
		tol := assemble.Fineness(max(geom.Norm(u), geom.Norm(v)))
		dst = geom.FlattenArc(dst, c, u, v, a.start, a.start+a.sweep, tol)
		dst[len(dst)-1] = end // without the rounding of the way over the centre
		return dst
	})
}

// close ends the subpath with a straight stretch to its start.
func (p *pen) close() {
	p.flush(true)
	p.cur = p.start
}

// flush hands over the subpath. One that is not closed by z is closed where its ends agree within
// the closing tolerance.
func (p *pen) flush(z bool) {
	defer func() {
		p.pts, p.joins = p.pts[:0], p.joins[:0]
		p.curved, p.moved = false, false
	}()
	n := len(p.pts)
	if n == 0 {
		if p.moved && z {
			p.emit(geom.Path{Points: []orb.Point{p.m.Apply(p.cur)}})
		}
		return
	}
	if n == 1 { // stretches of no length
		p.emit(geom.Path{Points: []orb.Point{p.pts[0]}})
		return
	}
	gap := geom.Dist(p.pts[0], p.pts[n-1])
	closed := z
	switch {
	case gap <= zSnap || !z && gap <= geom.CloseTol && p.longerThan(4*geom.CloseTol):
		closed = n > 2
		if closed {
			n--
			p.joins[0] = joinOf(p.dir, p.first, p.straight && p.firstIsStr)
		}
	case z:
		d := geom.Unit(geom.Sub(p.pts[0], p.pts[n-1]))
		p.joins[n-1] = joinOf(p.dir, d, p.straight)
		p.joins[0] = joinOf(d, p.first, p.firstIsStr)
	}
	p.emit(p.path(n, closed && n > 2))
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

// path copies the first n points with their corners. Where every element is straight, every vertex
// is a corner as drawn; between straight elements beside curves, the turn and the fineness decide.
func (p *pen) path(n int, closed bool) geom.Path {
	q := geom.Path{Points: append(make([]orb.Point, 0, n), p.pts[:n]...), Closed: closed}
	if !p.curved {
		return q
	}
	q.Corners = make([]bool, n)
	var marked geom.Path
	for i := range n {
		switch p.joins[i] {
		case corner:
			q.Corners[i] = true
		case chords:
			if marked.Points == nil {
				marked = geom.MarkCorners(geom.Path{Points: q.Points, Closed: closed}, cornerTurn)
			}
			q.Corners[i] = marked.Corners[i]
		}
	}
	if !closed {
		q.Corners[0], q.Corners[n-1] = true, true
	}
	return q
}
