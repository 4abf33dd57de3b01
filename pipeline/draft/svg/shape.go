package svg

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/assemble"
)

// viewport gives percentages their meaning.
type viewport struct{ w, h float64 }

// length reads a length attribute in user units; along is 'x', 'y' or 'd' for the diagonal, to
// which percentages refer. A missing attribute is 0.
func (r *reader) length(n *node, name string, vp viewport, along byte) (v float64, has, ok bool) {
	text, has := n.lookup(name)
	if !has || text == "auto" {
		return 0, false, true
	}
	m, ok := parseMeasure(text)
	if !ok {
		r.fault(n, "write a number with a point, such as \"12.5\" or \"12.5mm\"", "%s=%q is no length", name, assemble.Clip(text))
		return 0, true, false
	}
	if m.unit == "%" {
		whole := vp.w
		switch along {
		case 'y':
			whole = vp.h
		case 'd':
			whole = math.Hypot(vp.w, vp.h) / math.Sqrt2
		}
		return m.value / 100 * whole, true, true
	}
	mm, ok := unitMM(m.unit)
	if !ok {
		r.fault(n, "use mm, cm, in, pt or plain numbers", "%s=%q has a unit that depends on letters or the screen", name, assemble.Clip(text))
		return 0, true, false
	}
	if m.unit == "" || m.unit == "px" {
		return m.value, true, true
	}
	return m.value * mm / (25.4 / pxPerInch), true, true
}

// lengths reads several; ok is false where one is faulty. The names' first letters tell along what
// percentages run: x and w, y and h, r the diagonal; a leading c or r before x and y is looked past.
func (r *reader) lengths(n *node, vp viewport, names ...string) (v []float64, ok bool) {
	ok = true
	for _, name := range names {
		along := name[len(name)-1]
		switch name {
		case "width", "x1", "x2":
			along = 'x'
		case "height", "y1", "y2":
			along = 'y'
		case "r":
			along = 'd'
		}
		x, _, sound := r.length(n, name, vp, along)
		v, ok = append(v, x), ok && sound
	}
	return v, ok
}

// outline draws a shape with the pen. It gives the circle's diameter and middle in mm where the
// shape is one on the page; ok is false where the shape is faulty, which has been told.
func (r *reader) outline(n *node, vp viewport) (diameter float64, centre orb.Point, ok bool) {
	switch n.name {
	case "path":
		if err := drawPath(n.attr("d"), &r.pen, func() bool { return r.segment(n) }); err != nil {
			r.fault(n, "mend the path data; nothing of this element was used", "%s", err)
			return 0, centre, false
		}
		return 0, centre, true
	case "rect":
		return 0, centre, r.rect(n, vp)
	case "circle", "ellipse":
		return r.ellipse(n, vp)
	case "line":
		v, ok := r.lengths(n, vp, "x1", "y1", "x2", "y2")
		if ok && r.segment(n) {
			r.pen.move(orb.Point{v[0], v[1]})
			r.pen.line(orb.Point{v[2], v[3]})
			r.pen.flush(false)
		}
		return 0, centre, ok
	case "polyline", "polygon":
		return 0, centre, r.poly(n)
	}
	return 0, centre, false
}

func (r *reader) rect(n *node, vp viewport) bool {
	v, ok := r.lengths(n, vp, "x", "y", "width", "height")
	rx, hasX, okX := r.length(n, "rx", vp, 'x')
	ry, hasY, okY := r.length(n, "ry", vp, 'y')
	if !ok || !okX || !okY {
		return false
	}
	x, y, w, h := v[0], v[1], v[2], v[3]
	if w < 0 || h < 0 {
		r.fault(n, "give the rectangle a width and height above 0", "width and height are below 0")
		return false
	}
	if rx < 0 || ry < 0 {
		r.fault(n, "give its corners a radius above 0, or none", "the radius of its corners is below 0")
		return false
	}
	if w == 0 || h == 0 || !r.segment(n) {
		return true // nothing is drawn
	}
	if !hasX {
		rx = ry
	}
	if !hasY {
		ry = rx
	}
	rx, ry = math.Min(rx, w/2), math.Min(ry, h/2)
	p := &r.pen
	if rx == 0 || ry == 0 {
		p.move(orb.Point{x, y})
		p.line(orb.Point{x + w, y})
		p.line(orb.Point{x + w, y + h})
		p.line(orb.Point{x, y + h})
		p.close()
		return true
	}
	p.move(orb.Point{x + rx, y})
	p.line(orb.Point{x + w - rx, y})
	p.arc(rx, ry, 0, false, true, orb.Point{x + w, y + ry})
	p.line(orb.Point{x + w, y + h - ry})
	p.arc(rx, ry, 0, false, true, orb.Point{x + w - rx, y + h})
	p.line(orb.Point{x + rx, y + h})
	p.arc(rx, ry, 0, false, true, orb.Point{x, y + h - ry})
	p.line(orb.Point{x, y + ry})
	p.arc(rx, ry, 0, false, true, orb.Point{x + rx, y})
	p.close()
	return true
}

func (r *reader) ellipse(n *node, vp viewport) (diameter float64, centre orb.Point, ok bool) {
	v, ok := r.lengths(n, vp, "cx", "cy")
	var rx, ry float64
	if n.name == "circle" {
		d, sound := r.lengths(n, vp, "r")
		rx, ry, ok = d[0], d[0], ok && sound
	} else {
		x, hasX, okX := r.length(n, "rx", vp, 'x')
		y, hasY, okY := r.length(n, "ry", vp, 'y')
		if !hasX {
			x = y
		}
		if !hasY {
			y = x
		}
		rx, ry, ok = x, y, ok && okX && okY
	}
	switch {
	case !ok:
		return 0, centre, false
	case rx < 0 || ry < 0:
		r.fault(n, "give it a radius above 0", "the radius is below 0")
		return 0, centre, false
	case rx == 0 || ry == 0 || !r.segment(n):
		return 0, centre, true
	}
	c, a, b := r.pen.m.Apply(orb.Point{v[0], v[1]}), r.pen.m.Vector(orb.Point{rx, 0}), r.pen.m.Vector(orb.Point{0, ry})
	if far := math.Abs(c[0]) + math.Abs(c[1]) + geom.Norm(a) + geom.Norm(b); !(far <= maxCoord) {
		r.pen.far = true
		return 0, centre, true
	}
	la, lb := geom.Norm(a), geom.Norm(b)
	pts := geom.FlattenArc(nil, c, a, b, 0, 2*math.Pi, assemble.Fineness(max(la, lb)))
	pts[len(pts)-1] = geom.Add(c, a)
	r.pen.emit(geom.Path{Points: pts, Corners: make([]bool, len(pts)), Closed: true})
	if math.Abs(la-lb) <= 1e-6*la && math.Abs(geom.Dot(a, b)) <= 1e-6*la*lb {
		return 2 * la, c, true
	}
	return 0, centre, true
}

func (r *reader) poly(n *node) bool {
	text := n.attr("points")
	s := scanner{s: text}
	s.space()
	p := &r.pen
	count := 0
	var x float64
	for !s.done() {
		v, ok := s.number()
		if !ok {
			end := min(len(s.s), s.i+12)
			r.fault(n, "write the points as numbers with decimal points; nothing of this element was used",
				"points has %q at character %d, where a number is wanted", s.s[s.i:end], s.i+1)
			return false
		}
		switch {
		case count%2 == 0:
			x = v
		case !r.segment(n):
			return true
		case count == 1:
			p.move(orb.Point{x, v})
		default:
			p.line(orb.Point{x, v})
		}
		count++
		s.gap()
	}
	if count%2 == 1 {
		r.fault(n, "mend the list; nothing of this element was used", "points has an odd number of values, %d", count)
		return false
	}
	if n.name == "polygon" {
		p.close()
	} else {
		p.flush(false)
	}
	return true
}

// segment counts one more segment; it is false once a limit is reached.
func (r *reader) segment(n *node) bool {
	r.segments++
	switch {
	case r.fatal != nil:
		return false
	case r.segments > r.limits.Segments:
		r.stop(n, "the drawing has more than %d segments", r.limits.Segments)
		return false
	case r.points+len(r.pen.ink.Points()) > r.limits.Points:
		r.stop(n, "the drawing has more than %d points after its curves are flattened", r.limits.Points)
		return false
	}
	return true
}

// transform reads a transform list.
func transform(text string) (geom.Affine, error) {
	m := geom.Identity
	s := scanner{s: text}
	s.space()
	for !s.done() {
		start := s.i
		for !s.done() && (s.peek()|0x20) >= 'a' && (s.peek()|0x20) <= 'z' {
			s.i++
		}
		name := s.s[start:s.i]
		s.space()
		if s.peek() != '(' {
			return m, fmt.Errorf("transform=%q is not understood at character %d", assemble.Clip(text), s.i+1)
		}
		s.i++
		s.space()
		var v [6]float64
		k := 0
		for k < 6 && s.startsNumber() {
			x, ok := s.number()
			if !ok {
				break
			}
			v[k] = x
			k++
			s.gap()
		}
		if s.peek() != ')' {
			return m, fmt.Errorf("transform=%q is not understood at character %d", assemble.Clip(text), s.i+1)
		}
		s.i++
		one, ok := single(name, v, k)
		if !ok {
			return m, fmt.Errorf("transform %q with %d numbers is not known", name, k)
		}
		m = m.After(one)
		s.gap()
	}
	return m, nil
}

// about moves a transform to its origin, of which percentages and words refer to the viewport (CSS
// Transforms 1, 6 and 7: on shapes of SVG the origin is 0 0, and the reference box the viewport).
func about(m geom.Affine, origin string, vp viewport) (geom.Affine, error) {
	if origin == "" || m == geom.Identity {
		return m, nil
	}
	bad := fmt.Errorf("transform-origin=%q is not understood", assemble.Clip(origin))
	words := strings.FieldsFunc(strings.ToLower(origin), func(c rune) bool { return c == ',' || c == ' ' || c == '\t' || c == '\n' || c == '\r' })
	if len(words) == 0 || len(words) > 3 {
		return m, bad
	}
	if len(words) == 1 {
		if words = append(words, "center"); words[0] == "top" || words[0] == "bottom" {
			words[0], words[1] = words[1], words[0]
		}
	}
	if words[0] == "top" || words[0] == "bottom" || words[1] == "left" || words[1] == "right" {
		words[0], words[1] = words[1], words[0]
	}
	var at [2]float64
	for k, whole := range [2]float64{vp.w, vp.h} {
		switch word := words[k]; {
		case word == "center":
			at[k] = whole / 2
		case k == 0 && word == "left", k == 1 && word == "top":
		case k == 0 && word == "right", k == 1 && word == "bottom":
			at[k] = whole
		default:
			v, ok := parseMeasure(word)
			mm, known := unitMM(v.unit)
			switch {
			case ok && v.unit == "%":
				at[k] = v.value / 100 * whole
			case ok && known:
				at[k] = v.value * mm / (25.4 / pxPerInch)
			default:
				return m, bad
			}
		}
	}
	return geom.Translate(at[0], at[1]).After(m).After(geom.Translate(-at[0], -at[1])), nil
}

func single(name string, v [6]float64, k int) (geom.Affine, bool) {
	rad := v[0] * math.Pi / 180
	switch {
	case name == "matrix" && k == 6:
		return geom.Affine{A: v[0], B: v[1], C: v[2], D: v[3], E: v[4], F: v[5]}, true
	case name == "translate" && (k == 1 || k == 2):
		return geom.Translate(v[0], v[1]), true
	case name == "scale" && k == 1:
		return geom.Scale(v[0], v[0]), true
	case name == "scale" && k == 2:
		return geom.Scale(v[0], v[1]), true
	case name == "rotate" && k == 1:
		return geom.Rotate(rad), true
	case name == "rotate" && k == 3:
		return geom.Translate(v[1], v[2]).After(geom.Rotate(rad)).After(geom.Translate(-v[1], -v[2])), true
	case name == "skewX" && k == 1:
		return geom.Affine{A: 1, C: math.Tan(rad), D: 1}, true
	case name == "skewY" && k == 1:
		return geom.Affine{A: 1, B: math.Tan(rad), D: 1}, true
	}
	return geom.Identity, false
}
