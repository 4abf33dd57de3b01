package measured

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// facing makes a piece from an edge: "facing 5 deep along front neck". It is the strip of that piece
// along the edge, pleats, darts and princess seams closed, between the two edges beside it; its far side is the "inner edge".
func (e *garment) facing(pc *piece, p *parser) {
	at := p.i
	depth := p.sum()
	if depth <= 0 {
		p.fail(at, "a facing "+num(depth)+" deep", "a facing is more than 0 deep")
	}
	p.want("deep", " and along which edge the facing runs")
	p.sign(',')
	p.want("along", " and the drawing and edge along which the facing runs")
	d, f := p.readFaced()
	edge, before, after := f.edge, f.before, f.after
	inner := p.innerEdge(d, edge, depth, at)
	start, end := p.runsInto(inner, before, true, at), p.runsInto(inner, after, false, at)
	if start.s >= end.s {
		p.fail(at, fmt.Sprintf("a facing %s deep leaves no inner edge along %q", num(depth), edge.name), "make it less deep")
	}
	before.c = before.c.between(before.c.placeAt(start.l), place{len(before.c) - 1, 1})
	after.c = after.c.between(place{0, 0}, after.c.placeAt(end.l))
	pc.sc = d.sc
	pc.edges = []outlineEdge{edge, after,
		{name: "inner edge", c: inner.between(inner.placeAt(start.s), inner.placeAt(end.s)).reversed(), line: edge.line, col: edge.col}, before}
	pc.worn = pc.edges
}

// drawingEdge reads "front neck": a drawing and an edge of its outline.
func (p *parser) drawingEdge() (*drawing, int) {
	e := p.sc.eng
	p.space()
	at := p.i
	var names []string
	for _, dn := range e.drawOrder {
		for _, ed := range e.draws[dn].edges {
			names = append(names, dn+" "+ed.name)
		}
	}
	said, ok := p.name(names)
	if !ok {
		p.fail(at, quote(p.phrase())+" is no edge of a drawing's outline", nearest(p.phrase(), names))
	}
	for _, dn := range e.drawOrder {
		for i, ed := range e.draws[dn].edges {
			if dn+" "+ed.name == said {
				return e.draws[dn], i
			}
		}
	}
	return nil, -1
}

// innerEdge runs beside an edge at a distance, into the piece, and straight on past both ends.
func (p *parser) innerEdge(d *drawing, edge outlineEdge, depth float64, at int) curve {
	side := ccw(d.edges) * depth
	var out curve
	for k, s := range edge.c {
		o := p.segBeside(edge, s, side, at)
		if k == 0 {
			out = o
			continue
		}
		in, on := edge.c[k-1].dir(1), s.dir(0)
		if angleBetween(in, on) > cornerFine {
			out = p.roundCorner(out, o, edge, s.a, geom.Cross(in, on)*side > 0, at)
			continue
		}
		o[0].a = out.end()
		out = append(out, o...)
	}
	first, last := out[0], out[len(out)-1]
	reach := 2 * depth
	head := lineSeg(geom.Sub(first.a, geom.Mul(first.dir(0), reach)), first.a)
	tail := lineSeg(last.b, geom.Add(last.b, geom.Mul(last.dir(1), reach)))
	return append(append(curve{head}, out...), tail)
}

// segBeside is one stretch at a distance; a curve is divided, each part as near as an offset of it comes.
func (p *parser) segBeside(edge outlineEdge, s seg, side float64, at int) curve {
	parts := 1
	if s.cubic {
		parts = 16
	}
	var out curve
	for i := range parts {
		o, ok := s.part(float64(i)/float64(parts), float64(i+1)/float64(parts)).beside(side)
		if !ok {
			p.fail(at, fmt.Sprintf("%q curves too tightly at %s for a facing %s deep", edge.name, spot(s.at(0.5)), num(math.Abs(side))), "make it less deep")
		}
		if i > 0 {
			o.a = out.end()
		}
		out = append(out, o)
	}
	return out
}

// roundCorner joins two stretches beside a corner of the edge: within it they are cut where they cross,
// round it they are led on until they meet.
func (p *parser) roundCorner(a, b curve, edge outlineEdge, corner orb.Point, within bool, at int) curve {
	if within {
		if found := meetFine(locus{edge: a}, locus{edge: b}); len(found) > 0 {
			x := found[len(found)-1]
			return append(a.between(place{0, 0}, a.placeAt(nearestOn(a, x))), b.between(b.placeAt(nearestOn(b, x)), place{len(b) - 1, 1})...)
		}
	} else {
		u, v := a[len(a)-1].dir(1), b[0].dir(0)
		if x, s, t, ok := geom.MeetLines(a.end(), u, b.start(), v); ok && s > 0 && t < 0 {
			return append(append(a, lineSeg(a.end(), x), lineSeg(x, b.start())), b...)
		}
	}
	p.fail(at, fmt.Sprintf("the corner of %q at %s leaves no inner edge", edge.name, spot(corner)), "make the facing less deep, or face the two sides of the corner each by itself")
	return nil
}

// beside is the stretch at a distance to its left; false where it would turn inside out.
func (s seg) beside(by float64) (seg, bool) {
	move := func(t float64) orb.Point { return geom.Add(s.at(t), geom.Mul(geom.Left(s.dir(t)), by)) }
	a, b := move(0), move(1)
	switch {
	case s.isArc():
		r := s.radius() - by*sign(s.sweep)
		return seg{a: a, b: b, centre: s.centre, sweep: s.sweep}, r > 1e-6
	case s.cubic:
		k := geom.Dist(a, b) / geom.Dist(s.a, s.b)
		return cubicSeg(a, geom.Add(a, geom.Mul(geom.Sub(s.h1, s.a), k)), geom.Add(b, geom.Mul(geom.Sub(s.h2, s.b), k)), b),
			geom.Dot(geom.Sub(b, a), geom.Sub(s.b, s.a)) > 0
	}
	return lineSeg(a, b), true
}

// crossed is where the inner edge runs into the edge beside it: how far along each.
type crossed struct{ s, l float64 }

// runsInto finds the crossing nearest to the faced edge.
func (p *parser) runsInto(inner curve, beside outlineEdge, fromEnd bool, at int) crossed {
	best, found := crossed{}, false
	for _, q := range meetFine(locus{edge: inner}, locus{edge: beside.c}) {
		c := crossed{nearestOn(inner, q), nearestOn(beside.c, q)}
		if c.s < 0 || c.l < 0 {
			continue
		}
		if better := fromEnd == (c.l > best.l); !found || better {
			best, found = c, true
		}
	}
	if !found {
		p.fail(at, fmt.Sprintf("the facing's inner edge does not reach %q, which is %s long", beside.name, num(beside.c.length())), "make the facing less deep")
	}
	return best
}

// placeAt is the place at a length from the start.
func (c curve) placeAt(l float64) place {
	for i, s := range c {
		n := s.length()
		if l <= n || i == len(c)-1 {
			return place{i, s.atLength(math.Min(l, n))}
		}
		l -= n
	}
	return place{}
}
