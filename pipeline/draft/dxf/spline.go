package dxf

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// Flags of SPLINE (code 70).
const splineClosed, splinePeriodic = 1, 2

// maxDegree is the highest degree that is read; drawing programs write 2, 3 and 5.
const maxDegree = 11

// spline is a B-spline in the drawing's units.
type spline struct {
	degree  int
	knots   []float64
	points  []orb.Point
	weights []float64 // nil where all are 1
	fit     []orb.Point
	in, out orb.Point // tangents at the ends of a fitted one, zero where they are not given
	flags   int
}

func (r *reader) drawSpline(e entity, l *layerInfo, c *context) {
	s := r.readSpline(e)
	if r.fatal != nil {
		return
	}
	pieces, fault := s.beziers()
	if len(s.points) == 0 {
		pieces, fault = s.fitted()
	}
	if fault != "" {
		r.refuse(e, l, "draw the curve once more, or as a polyline", "%s", fault)
		return
	}
	if len(s.points) == 0 && l.role.Shapes() {
		r.tell(pattern.RuleReadAssumed, e, "compare the curve with the draft, or save it with control points",
			"the curve is given by points it goes through only; it is drawn as a natural cubic curve, which may differ by some tenths of a millimetre")
	}
	r.drawBeziers(pieces, c.m)
	path, ok := r.path(false)
	if ok && s.flags&splineClosed != 0 && !path.Closed {
		r.tell(pattern.RuleReadAssumed, e, "close the curve, if it is meant to be closed",
			"it is marked as closed, but its ends lie %s apart; it is taken as it is drawn", pattern.FineLength(geom.Dist(path.Points[0], path.Points[len(path.Points)-1]), r.out.Told))
	}
	r.finish(false, e, l, c)
}

func (r *reader) readSpline(e entity) *spline {
	v := r.values(e)
	s := &spline{degree: v.whole(71, 3), flags: v.whole(70, 0)}
	for i, t := range v.tags {
		switch t.code {
		case 10:
			s.points = append(s.points, v.pointTag(i))
		case 11:
			s.fit = append(s.fit, v.pointTag(i))
		case 12:
			s.in = v.pointTag(i)
		case 13:
			s.out = v.pointTag(i)
		case 40:
			s.knots = append(s.knots, v.number(t))
		case 41:
			s.weights = append(s.weights, v.number(t))
		}
		if v.failed() {
			break
		}
	}
	return s
}

// fault says why the control points, knots and weights make no curve; empty where they do.
func (s *spline) fault() string {
	n := len(s.points)
	switch {
	case s.degree < 1 || s.degree > maxDegree:
		return fmt.Sprintf("its degree is %d; 1 to %d are read", s.degree, maxDegree)
	case n <= s.degree:
		return fmt.Sprintf("it has %d control points; a curve of degree %d needs more than that", n, s.degree)
	case len(s.knots) != n+s.degree+1:
		return fmt.Sprintf("it has %d knots; %d control points of degree %d need %d", len(s.knots), n, s.degree, n+s.degree+1)
	case len(s.weights) != 0 && len(s.weights) != n:
		return fmt.Sprintf("it has %d weights for %d control points", len(s.weights), n)
	}
	for i := 1; i < len(s.knots); i++ {
		if s.knots[i] < s.knots[i-1] {
			return "its knots do not rise"
		}
	}
	if !(s.knots[n] > s.knots[s.degree]) {
		return "its knots are all the same"
	}
	for _, w := range s.weights {
		if w <= 0 {
			return "one of its weights is not above 0"
		}
	}
	return ""
}

// control is a control point in homogeneous form: x and y times the weight, and the weight.
type control [3]float64

func (c control) point() orb.Point { return orb.Point{c[0] / c[2], c[1] / c[2]} }

func mix(a, b control, t float64) control {
	return control{a[0] + (b[0]-a[0])*t, a[1] + (b[1]-a[1])*t, a[2] + (b[2]-a[2])*t}
}

// beziers cuts the curve at its knots into Bezier curves. The curve lives between knot number
// degree and knot number n only: a periodic one neither begins nor ends at the outer knots.
func (s *spline) beziers() (out [][]control, fault string) {
	if fault = s.fault(); fault != "" {
		return nil, fault
	}
	p, n := s.degree, len(s.points)
	for k := p; k < n; k++ {
		a, b := s.knots[k], s.knots[k+1]
		if b <= a {
			continue
		}
		bez := make([]control, p+1)
		for j := range bez {
			bez[j] = s.blossom(k, j, a, b)
		}
		out = append(out, bez)
	}
	return out, ""
}

// blossom is the polar form of the curve's stretch k with p-j arguments a and j arguments b, which
// is control point j of the stretch's Bezier form.
func (s *spline) blossom(k, j int, a, b float64) control {
	p := s.degree
	d := make([]control, p+1)
	for i := range d {
		w := 1.0
		if s.weights != nil {
			w = s.weights[k-p+i]
		}
		q := s.points[k-p+i]
		d[i] = control{q[0] * w, q[1] * w, w}
	}
	for r := 1; r <= p; r++ {
		t := a
		if r <= j {
			t = b
		}
		for i := p; i >= r; i-- {
			lo, hi := s.knots[k-p+i], s.knots[k+1+i-r]
			d[i] = mix(d[i-1], d[i], (t-lo)/(hi-lo))
		}
	}
	return d[p]
}

// drawBeziers maps the curves, which keeps weights, and flattens them.
func (r *reader) drawBeziers(list [][]control, m geom.Affine) {
	for i, bez := range list {
		for k, c := range bez {
			q := m.Apply(c.point())
			bez[k] = control{q[0] * c[2], q[1] * c[2], c[2]}
		}
		if i == 0 {
			r.pen.Begin(bez[0].point())
		}
		in, out := firstDir(bez, 0, 1), geom.Mul(firstDir(bez, len(bez)-1, -1), -1)
		if in == (orb.Point{}) {
			continue
		}
		if len(bez) == 2 {
			r.pen.Line(bez[1].point())
			continue
		}
		r.pen.Curve(in, out, func(dst []orb.Point) []orb.Point { return flattenBezier(dst, bez, 0) })
	}
}

// firstDir is the direction from a control point to the next that differs from it.
func firstDir(bez []control, from, step int) orb.Point {
	a := bez[from].point()
	for i := from + step; i >= 0 && i < len(bez); i += step {
		if u := geom.Unit(geom.Sub(bez[i].point(), a)); u != (orb.Point{}) {
			return u
		}
	}
	return orb.Point{}
}

// maxHalvings bounds the work on one curve.
const maxHalvings = 14

// flattenBezier appends the chords' ends, all but the start. With weights above 0 the curve lies in
// the hull of its control points, so that it leaves the chord by no more than they do.
func flattenBezier(dst []orb.Point, bez []control, depth int) []orb.Point {
	a, z := bez[0].point(), bez[len(bez)-1].point()
	far := 0.0
	for _, c := range bez[1 : len(bez)-1] {
		far = math.Max(far, distToChord(c.point(), a, z))
	}
	if !(far > geom.FlattenTol) || depth == maxHalvings {
		return append(dst, z)
	}
	left, right := halve(bez)
	return flattenBezier(flattenBezier(dst, left, depth+1), right, depth+1)
}

func distToChord(q, a, b orb.Point) float64 {
	d := geom.Sub(b, a)
	l2 := geom.Dot(d, d)
	if l2 == 0 {
		return geom.Dist(q, a)
	}
	t := math.Min(1, math.Max(0, geom.Dot(geom.Sub(q, a), d)/l2))
	return geom.Dist(q, geom.Lerp(a, b, t))
}

// halve splits a Bezier curve in its middle.
func halve(bez []control) (left, right []control) {
	n := len(bez)
	left, right = make([]control, n), make([]control, n)
	w := append([]control(nil), bez...)
	for k := range n {
		left[k], right[n-1-k] = w[0], w[n-1-k]
		for i := 0; i+1 < n-k; i++ {
			w[i] = mix(w[i], w[i+1], 0.5)
		}
	}
	return left, right
}
