package gcode

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// The radius rules of the arc's centre form: how much the radii at start and end may differ, mm and inch. The report
// of 2000 has one limit; later rules allow more as a share of the radius.
const (
	tightMM, tightInch = 0.002, 0.0002
	freeMM, freeInch   = 0.005, 0.0005
	mostMM, mostInch   = 0.5, 0.05
	share              = 0.001
)

// arcCentre finds the centre from I and J or R, and checks it against the radius rules.
func (r *reader) arcCentre(b *block, from, to orb.Point, ccw bool, cp, cq byte) (c orb.Point, ok bool) {
	ip, hasP := b.value(cp)
	iq, hasQ := b.value(cq)
	radius, hasR := b.value('R')
	switch {
	case hasR && (hasP || hasQ):
		r.fault(UnusedWord, "R together with %c or %c", cp, cq)
		return c, false
	case hasR:
		return r.byRadius(radius*r.scale, from, to, ccw)
	case !hasP && !hasQ:
		r.fault(MissingWord, "an arc needs %c, %c or R", cp, cq)
		return c, false
	case r.arcAbsolute && !(hasP && hasQ):
		r.fault(MissingWord, "with absolute centres an arc needs both %c and %c", cp, cq)
		return c, false
	}
	c = orb.Point{ip * r.scale, iq * r.scale}
	if !r.arcAbsolute {
		c = geom.Add(from, c)
	}
	return c, r.radiiAgree(geom.Dist(from, c), geom.Dist(to, c))
}

// radiiAgree reports a gap beyond the later rule as a fault and one beyond the strict rule as a hint.
func (r *reader) radiiAgree(r0, r1 float64) bool {
	tight, free, most := tightMM, freeMM, mostMM
	if r.scale != 1 {
		tight, free, most = tightInch*25.4, freeInch*25.4, mostInch*25.4
	}
	gap := math.Abs(r1 - r0)
	larger := math.Max(r0, r1)
	const slack = 1e-9
	switch {
	case larger < 1e-6:
		r.fault(ArcRadius, "an arc of radius 0")
		return false
	case gap > most+slack || gap > free+slack && gap > share*larger+slack:
		r.fault(ArcRadius, "the radius is %.4f mm at the start of the arc and %.4f mm at its end", r0, r1)
		return false
	case gap > tight+slack:
		r.hint(ArcRadiusTight, "the radii of the arc differ by %.4f mm, more than the %.3f of the strict rule", gap, tight)
	}
	return true
}

// byRadius is the R form: the sign selects the arc of less or more than a half turn.
func (r *reader) byRadius(radius float64, from, to orb.Point, ccw bool) (c orb.Point, ok bool) {
	l := geom.Dist(from, to)
	if l == 0 {
		r.fault(MissingWord, "a full circle cannot be given by R")
		return c, false
	}
	size := math.Abs(radius)
	h2 := size*size - l*l/4
	if h2 < -1e-6*size*size-1e-12 {
		r.fault(ArcRadius, "radius %.4f mm does not reach between ends %.4f mm apart", size, l)
		return c, false
	}
	side := geom.Left(geom.Unit(geom.Sub(to, from)))
	h := math.Sqrt(math.Max(0, h2))
	if ccw != (radius > 0) {
		h = -h
	}
	return geom.Add(geom.Lerp(from, to, 0.5), geom.Mul(side, h)), true
}
