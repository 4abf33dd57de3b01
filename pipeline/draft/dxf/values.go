package dxf

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/assemble"
)

// values reads the codes of one entity. The first value that is no number, or is missing where it
// must be there, stops the reading of the file; callers ask failed before they use what they read.
type values struct {
	r    *reader
	e    entity
	tags []tag
}

func (r *reader) values(e entity) *values { return &values{r, e, r.tags[e.from:e.to]} }

func (v *values) failed() bool { return v.r.fatal != nil }

func (v *values) has(code int16) bool {
	return slices.ContainsFunc(v.tags, func(t tag) bool { return t.code == code })
}

// number reads a tag's number or stops.
func (v *values) number(t tag) float64 {
	x, ok := v.r.number(t)
	if !ok {
		at := t.at
		if !v.r.binary {
			at++ // the value stands on the line after its code
		}
		v.r.stop(v.r.errorAt(assemble.Malformed, at, "%q is no number; one is needed for code %d of %s", assemble.Clip(string(v.r.raw(t))), t.code, v.e.kind))
	}
	return x
}

// num is the number of the first tag with the code, or what holds where there is none.
func (v *values) num(code int16, missing float64) float64 {
	for _, t := range v.tags {
		if t.code == code {
			return v.number(t)
		}
	}
	return missing
}

// must is a number that the entity cannot be without.
func (v *values) must(code int16) float64 {
	if !v.has(code) {
		v.r.stop(v.r.errorAt(assemble.Malformed, v.e.at, "%s lacks its code %d; a line is missing", v.e.kind, code))
	}
	return v.num(code, 0)
}

// whole is a number without a fraction, kept within what an int holds anywhere.
func (v *values) whole(code int16, missing int) int {
	x := v.num(code, float64(missing))
	if math.Abs(x) > math.MaxInt32 || x != math.Trunc(x) {
		v.r.stop(v.r.errorAt(assemble.Malformed, v.e.at, "code %d of %s is no whole number of a sensible size", code, v.e.kind))
		return missing
	}
	return int(x)
}

// point is the pair of a code and the one ten higher.
func (v *values) point(code int16) orb.Point {
	return orb.Point{v.must(code), v.must(code + 10)}
}

// pointTag is a pair read from tag i on: its x, with its y the next tag that is one.
func (v *values) pointTag(i int) orb.Point {
	x := v.number(v.tags[i])
	for _, t := range v.tags[i+1:] {
		switch t.code {
		case v.tags[i].code + 10:
			return orb.Point{x, v.number(t)}
		case v.tags[i].code:
			v.r.stop(v.r.errorAt(assemble.Malformed, v.tags[i].at, "a point of %s has no code %d; a line is missing", v.e.kind, v.tags[i].code+10))
			return orb.Point{}
		}
	}
	v.r.stop(v.r.errorAt(assemble.Malformed, v.tags[i].at, "a point of %s has no code %d; a line is missing", v.e.kind, v.tags[i].code+10))
	return orb.Point{}
}

// flatTol is how far a unit extrusion may lean and still be upright: the rounding of a file.
const flatTol = 1e-6

// upright is the direction of the extrusion: 1 up, -1 down; ok is false for any other.
func (v *values) upright() (sign float64, ok bool) {
	x, y, z := v.num(210, 0), v.num(220, 0), v.num(230, 1)
	n := math.Sqrt(x*x + y*y + z*z)
	if !(n > 0) || math.Hypot(x, y) > flatTol*n {
		return 1, false
	}
	return math.Copysign(1, z), true
}

// ocs maps the entity's own coordinates to those of the drawing it stands in. By the rule of the
// arbitrary axis an extrusion pointing down turns x over and keeps y.
func (v *values) ocs() (m geom.Affine, ok bool) {
	sign, ok := v.upright()
	return geom.Scale(sign, 1), ok
}

func radians(deg float64) float64 { return deg * math.Pi / 180 }
