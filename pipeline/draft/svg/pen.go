package svg

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/assemble"
)

// zSnap is how near, in mm, the end of a subpath must come to its start for z to add no stretch:
// the rounding of a file with three decimals.
const zSnap = 0.001

// bendShare is the radius of a curve as a share of its control polygon's length, as in a quarter
// circle.
const bendShare = 0.6

// pen draws elements given in user units and hands the flattened subpaths over in mm.
type pen struct {
	m    geom.Affine
	emit func(geom.Path)
	ink  assemble.Pen
	// cur and start are in user units.
	cur, start orb.Point
	moved      bool
	far        bool // some point lies out of bounds
}

func (p *pen) begin(m geom.Affine, emit func(geom.Path)) {
	p.ink.Drop()
	*p = pen{m: m, emit: emit, ink: p.ink}
}

func (p *pen) move(to orb.Point) {
	p.flush(false)
	p.cur, p.start, p.moved = to, to, true
}

// open starts the subpath, if it is not yet; at is where the pen stands, in mm.
func (p *pen) open() (at orb.Point) {
	if pts := p.ink.Points(); len(pts) > 0 {
		return pts[len(pts)-1]
	}
	p.moved = false
	p.start = p.cur
	at = p.m.Apply(p.cur)
	p.ink.Begin(at)
	return at
}

func (p *pen) line(to orb.Point) {
	p.open()
	p.ink.Line(p.m.Apply(to))
	p.cur = to
}

func (p *pen) quad(c, to orb.Point) {
	a, b, z := p.open(), p.m.Apply(c), p.m.Apply(to)
	p.curve(to, firstDir(a, b, z), firstDir(z, b, a), func(dst []orb.Point) []orb.Point {
		return geom.FlattenQuad(dst, a, b, z, assemble.Fineness(bendShare*(geom.Dist(a, b)+geom.Dist(b, z))))
	})
}

func (p *pen) cubic(c1, c2, to orb.Point) {
	a, b, c, z := p.open(), p.m.Apply(c1), p.m.Apply(c2), p.m.Apply(to)
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
	p.cur = to
	if in != (orb.Point{}) { // not all control points agree
		p.ink.Curve(in, geom.Mul(back, -1), flatten)
	}
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
	p.ink.Arc(p.m.Apply(a.c), p.m.Vector(a.u), p.m.Vector(a.v), a.start, a.start+a.sweep, p.m.Apply(to))
	p.cur = to
}

// close ends the subpath with a straight stretch to its start.
func (p *pen) close() {
	p.flush(true)
	p.cur = p.start
}

// flush hands over the subpath; one of no length is a single point.
func (p *pen) flush(z bool) {
	pts := p.ink.Points()
	for _, pt := range pts {
		if !(math.Abs(pt[0]) <= maxCoord && math.Abs(pt[1]) <= maxCoord) {
			p.far = true
		}
	}
	if path, ok := p.ink.Path(z, zSnap); ok {
		p.emit(path)
	} else if len(pts) == 1 {
		p.emit(geom.Path{Points: []orb.Point{pts[0]}})
	} else if p.moved && z {
		p.emit(geom.Path{Points: []orb.Point{p.m.Apply(p.cur)}})
	}
	p.ink.Drop()
	p.moved = false
}
