package dxf

import (
	"cmp"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/assemble"
	"tracewheel/pipeline/pattern"
)

// passedOver are entities that draw no line of a piece; any other unknown one on a layer that is
// cut spoils the draft.
var passedOver = map[string]bool{
	"HATCH": true, "MPOLYGON": true, "SOLID": true, "TRACE": true, "WIPEOUT": true, "IMAGE": true, "DIMENSION": true, "ARC_DIMENSION": true,
	"LEADER": true, "MULTILEADER": true, "MLEADER": true, "TOLERANCE": true, "VIEWPORT": true, "ATTDEF": true, "ACAD_TABLE": true, "TABLE": true,
	"OLEFRAME": true, "OLE2FRAME": true, "UNDERLAY": true, "PDFUNDERLAY": true, "LIGHT": true, "SUN": true, "RAY": true, "XLINE": true,
	"VERTEX": true, "SEQEND": true, "ACAD_PROXY_ENTITY": true, "SHAPE": true,
}

// draw reads one entity; vertices are those of a POLYLINE.
func (r *reader) draw(e entity, vertices []entity, l *layerInfo, c *context) {
	if e.kind == "INSERT" {
		r.insert(e, l, c)
		return
	}
	if e.kind == "SEQEND" { // of an insert's attributes
		return
	}
	if isText(e.kind) {
		r.textEntity(e, l, c)
		return
	}
	if r.unused(e, l) {
		return
	}
	r.sayHeight(e, l)
	switch e.kind {
	case "LINE":
		r.drawLine(e, l, c)
	case "ARC":
		r.drawArc(e, l, c)
	case "CIRCLE":
		r.drawCircle(e, l, c)
	case "ELLIPSE":
		r.drawEllipse(e, l, c)
	case "LWPOLYLINE":
		r.drawLightPolyline(e, l, c)
	case "POLYLINE":
		r.drawPolyline(e, vertices, l, c)
	case "SPLINE":
		r.drawSpline(e, l, c)
	case "POINT":
		r.drawPoint(e, l, c)
	default:
		if l.role.Shapes() && !passedOver[e.kind] {
			r.tell(pattern.RuleUnreadable, e, "draw it with lines, arcs, polylines or splines", "entities of this kind are not read, and it lies on layer %q", assemble.Clip(l.name))
			return
		}
		r.leave(kindName(e.kind), "entities of this kind are not read", "draw it with lines, arcs, polylines or splines, if it belongs to a piece", e, "layer "+l.name)
	}
}

// sayHeight tells once that heights are not used. On the notch layers of the interchange form code
// 30 is the width of a notch.
func (r *reader) sayHeight(e entity, l *layerInfo) {
	if r.told["height"] || l.notch != "" && e.kind == "POINT" {
		return
	}
	for _, t := range r.tags[e.from:e.to] {
		if t.code != 30 && t.code != 31 && t.code != 38 {
			continue
		}
		if z, ok := r.number(t); ok && math.Abs(z) > 1e-9 && r.once("height") {
			r.leave("height above the drawing", "pieces are flat, only x and y are used", "no action needed", e, "")
			return
		}
	}
}

func (r *reader) drawLine(e entity, l *layerInfo, c *context) {
	v := r.values(e)
	a, b := c.m.Apply(v.point(10)), c.m.Apply(v.point(11))
	r.pen.Begin(a)
	r.pen.Line(b)
	r.finish(false, e, l, c)
}

// drawArc draws from one angle to the other, counter-clockwise about the extrusion.
func (r *reader) drawArc(e entity, l *layerInfo, c *context) {
	v := r.values(e)
	ocs, flat := v.ocs()
	centre, radius := v.point(10), v.must(40)
	from, to := math.Mod(v.must(50), 360), math.Mod(v.must(51), 360)
	if v.failed() || !r.round(e, l, radius, flat) {
		return
	}
	if math.Abs(from-to) < 1e-9 {
		f := r.tell(pattern.RuleReadAssumed, e, "draw a CIRCLE, or mend the angles", "it begins and ends at the same angle and is taken for a full circle")
		f.Severity = pattern.Warning
	}
	if to <= from+1e-9 {
		to += 360
	}
	m := c.m.After(ocs)
	r.drawRound(m, centre, orb.Point{radius, 0}, orb.Point{0, radius}, radians(from), radians(to))
	r.finish(false, e, l, c)
}

// round refuses circles and arcs that are none.
func (r *reader) round(e entity, l *layerInfo, radius float64, flat bool) bool {
	if !flat {
		r.notFlat(e, l)
		return false
	}
	if radius <= 0 {
		r.refuse(e, l, "give it a radius", "its radius is %g", radius)
		return false
	}
	return true
}

// drawRound sets the pen to an elliptic arc given in the drawing's units.
func (r *reader) drawRound(m geom.Affine, centre, u, v orb.Point, t0, t1 float64) {
	c, mu, mv := m.Apply(centre), m.Vector(u), m.Vector(v)
	at := func(t float64) orb.Point {
		s, k := math.Sincos(t)
		return geom.Add(c, geom.Add(geom.Mul(mu, k), geom.Mul(mv, s)))
	}
	start, end := at(t0), at(t1)
	if math.Abs(t1-t0-2*math.Pi) < 1e-9 {
		end = start
	}
	r.pen.Begin(start)
	r.pen.Arc(c, mu, mv, t0, t1, end)
}

func (r *reader) drawCircle(e entity, l *layerInfo, c *context) {
	v := r.values(e)
	ocs, flat := v.ocs()
	centre, radius := v.point(10), v.must(40)
	if v.failed() || !r.round(e, l, radius, flat) {
		return
	}
	m := c.m.After(ocs)
	r.drawRound(m, centre, orb.Point{radius, 0}, orb.Point{0, radius}, 0, 2*math.Pi)
	path, ok := r.path(true)
	if !ok {
		return
	}
	r.emit(assemble.Item{Path: path, Centre: m.Apply(centre), Diameter: 2 * radius * math.Sqrt(math.Abs(m.Det()))}, e, l, c)
}

// drawEllipse reads the parameters, which are not angles: the minor axis is the extrusion times the
// major one, so that an extrusion pointing down runs the other way.
func (r *reader) drawEllipse(e entity, l *layerInfo, c *context) {
	v := r.values(e)
	sign, flat := v.upright()
	centre, major, ratio := v.point(10), v.point(11), v.must(40)
	t0, t1 := v.num(41, 0), v.num(42, 2*math.Pi)
	if v.failed() {
		return
	}
	if !flat {
		r.notFlat(e, l)
		return
	}
	if geom.Norm(major) == 0 || ratio == 0 || math.Abs(t0) > 1e3 || math.Abs(t1) > 1e3 {
		r.refuse(e, l, "draw the ellipse with two axes", "it has no width")
		return
	}
	sweep := math.Mod(t1-t0, 2*math.Pi)
	if sweep <= 1e-9 {
		sweep += 2 * math.Pi
	}
	if math.Abs(sweep-2*math.Pi) < 1e-6 && math.Abs(t1-t0) > 1e-9 {
		sweep = 2 * math.Pi
	}
	r.drawRound(c.m, centre, major, geom.Mul(geom.Left(major), ratio*sign), t0, t0+sweep)
	r.finish(false, e, l, c)
}

// drawPoint reads a notch, a drill mark or a mere point. On the notch layers the codes mean: 30 the
// width across the mouth, 39 the depth, 50 the direction into the piece (common practice).
func (r *reader) drawPoint(e entity, l *layerInfo, c *context) {
	v := r.values(e)
	at := v.point(10)
	if l.role == pattern.RoleNotch {
		r.drawNotch(v, at, l, c)
		return
	}
	if v.failed() {
		return
	}
	r.emit(assemble.Item{Path: geom.Path{Points: []orb.Point{c.m.Apply(at)}}}, e, l, c)
}

func (r *reader) drawNotch(v *values, at orb.Point, l *layerInfo, c *context) {
	depth, width, angle, said := math.Abs(v.num(39, 0)), math.Abs(v.num(30, 0)), v.num(50, 0), v.has(50)
	sign, _ := v.upright()
	if v.failed() {
		return
	}
	if l.notch == "" && depth == 0 {
		width = 0 // in a plain drawing code 30 is a height
	}
	dir := geom.Rotate(radians(angle)).Apply(orb.Point{1, 0})
	dir[0] *= sign
	n := &pattern.Notch{At: c.m.Apply(at), Kind: l.notch, AngleSaid: said}
	n.Kind = cmp.Or(n.Kind, pattern.NotchNick)
	long, across := geom.Norm(c.m.Vector(dir)), geom.Norm(c.m.Vector(geom.Left(dir)))
	if !said {
		long = math.Sqrt(math.Abs(c.m.Det()))
		across = long
	} else {
		n.AngleDeg = assemble.Degrees(c.m.Vector(dir))
	}
	n.Depth, n.Width = depth*long, width*across
	if n.Kind == pattern.NotchNick && n.Width > 0 { // slit and V share a layer
		n.Kind = pattern.NotchV
	}
	if n.Depth > maxCoord || n.Width > maxCoord {
		r.stop(r.errorAt(assemble.TooLarge, v.e.at, "a notch is more than a kilometre deep or wide; lines of the file are wrong"))
		return
	}
	r.emit(assemble.Item{Path: geom.Path{Points: []orb.Point{n.At}}, Notch: n}, v.e, l, c)
}

// kindName is how an entity that is passed over is listed.
func kindName(kind string) string {
	if kind == "" {
		return "entity without a name"
	}
	return fmt.Sprintf("%s entity", assemble.Clip(kind))
}
