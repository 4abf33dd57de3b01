package dxf

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/assemble"
	"tracewheel/pipeline/pattern"
)

// Flags of POLYLINE (code 70) and of VERTEX.
const (
	polyClosed  = 1
	poly3D      = 8
	polyMesh    = 16
	polyFaces   = 64
	vertexFrame = 16 // a control point of a spline frame, not on the curve
)

// straightness is the bulge under which a stretch is straight.
const straightness = 1e-9

// vertex is one point of a polyline in its own coordinates; bulge is of the stretch that starts
// there, the tangent of a quarter of its sweep.
type vertex struct {
	at    orb.Point
	bulge float64
}

func (r *reader) drawLightPolyline(e entity, l *layerInfo, c *context) {
	v := r.values(e)
	ocs, flat := v.ocs()
	flags, said := v.whole(70, 0), v.whole(90, -1)
	var list []vertex
	for i, t := range v.tags {
		switch t.code {
		case 10:
			list = append(list, vertex{at: v.pointTag(i)})
		case 42:
			if len(list) > 0 {
				list[len(list)-1].bulge = v.number(t)
			}
		}
		if v.failed() {
			return
		}
	}
	if v.failed() {
		return
	}
	if !flat {
		r.notFlat(e, l)
		return
	}
	if said >= 0 && said != len(list) {
		f := r.tell(pattern.RuleReadAssumed, e, "compare the outline with the draft; save it once more",
			"it says that it has %d vertices, but %d follow", said, len(list))
		f.Severity = pattern.Warning
	}
	r.drawVertices(list, flags&polyClosed != 0, ocs, e, l, c)
}

func (r *reader) drawPolyline(e entity, vertices []entity, l *layerInfo, c *context) {
	v := r.values(e)
	ocs, flat := v.ocs()
	flags := v.whole(70, 0)
	if v.failed() {
		return
	}
	switch {
	case flags&(polyMesh|polyFaces) != 0:
		r.refuse(e, l, "draw the line flat, as a plain polyline", "it is a mesh in space")
		return
	case flags&poly3D != 0:
		ocs = geom.Identity // its vertices are in the drawing's own coordinates
	case !flat:
		r.notFlat(e, l)
		return
	case e.open:
		r.refuse(e, l, "save the draft once more", "its vertices do not end with SEQEND; lines are missing")
		return
	}
	var list []vertex
	var heights []float64
	for _, ve := range vertices {
		if ve.kind != "VERTEX" {
			continue
		}
		vv := r.values(ve)
		if vv.whole(70, 0)&vertexFrame != 0 {
			continue
		}
		list = append(list, vertex{at: vv.point(10), bulge: vv.num(42, 0)})
		if flags&poly3D != 0 {
			heights = append(heights, vv.num(30, 0))
			list[len(list)-1].bulge = 0 // none in space
		}
		if vv.failed() {
			return
		}
	}
	if len(heights) > 0 && (slices.Max(heights)-slices.Min(heights))*c.scale() > geom.CloseTol {
		r.refuse(e, l, "draw the line flat, as a plain polyline", "it is a polyline in space: its points lie at different heights")
		return
	}
	r.drawVertices(list, flags&polyClosed != 0, ocs, e, l, c)
}

// drawVertices draws straight stretches and arcs. The last vertex's bulge belongs to the closing
// stretch.
func (r *reader) drawVertices(list []vertex, closed bool, ocs geom.Affine, e entity, l *layerInfo, c *context) {
	if len(list) == 0 {
		r.refuse(e, l, "take it out, or save the draft once more", "it has no vertices")
		return
	}
	m := c.m.After(ocs)
	r.pen.Begin(m.Apply(list[0].at))
	for i, a := range list {
		k := i + 1
		if k == len(list) {
			if !closed {
				break
			}
			k = 0
		}
		r.stretch(m, a, list[k].at)
	}
	path, ok := r.path(closed)
	if !ok {
		r.finish(closed, e, l, c)
		return
	}
	if steered(l) && !r.pen.Curved() && c.corners != nil {
		own := make([]orb.Point, 0, len(list))
		for i, v := range list { // as the pen drops stretches of no length
			if i == 0 || geom.Dist(m.Apply(v.at), m.Apply(list[i-1].at)) >= geom.Tiny {
				own = append(own, ocs.Apply(v.at))
			}
		}
		path = c.corners.mark(path, own)
	}
	r.emit(assemble.Item{Path: path}, e, l, c)
}

// steered tells whether the corners of a layer's lines are listed on layers 2 and 3.
func steered(l *layerInfo) bool {
	switch l.number {
	case layerBoundary, 8, 11, 14:
		return true
	}
	return false
}

// stretch draws from a vertex to a place. The arc is found in the polyline's own coordinates and
// mapped as centre and half-axes, which any map keeps.
func (r *reader) stretch(m geom.Affine, a vertex, to orb.Point) {
	end := m.Apply(to)
	if math.Abs(a.bulge) < straightness {
		r.pen.Line(end)
		return
	}
	centre, radius, start, sweep := geom.BulgeArc(a.at, to, a.bulge)
	if radius == 0 {
		r.pen.Line(end)
		return
	}
	u, v := m.Vector(orb.Point{radius, 0}), m.Vector(orb.Point{0, radius})
	r.pen.Arc(m.Apply(centre), u, v, start, start+sweep, end)
}
