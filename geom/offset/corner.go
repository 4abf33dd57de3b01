package offset

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// join is what a cut line does round an opening corner, between the moved lines of both edges.
// from[k] is the edge of the segment that ends at pts[k], -1 where it bridges.
type join struct {
	pts    []orb.Point
	from   []int
	blocks []block
}

func (j *join) add(p orb.Point, from int) {
	j.pts = append(j.pts, p)
	j.from = append(j.from, from)
}

// block is a counter-clockwise loop whose inside belongs to no strip. from is as in join.
type block struct {
	pts  []orb.Point
	from []int
}

// wedge is an opening corner at v between side a, which ends there, and side b.
type wedge struct {
	v     orb.Point
	a, b  *side
	p, q  float64 // their widths at v
	limit float64 // mm from v
	sin   float64 // of the turn
	cos   float64
	one   Edge
}

func (o *offsetter) join(i int) join {
	n := len(o.pts)
	a, b := &o.sides[(i+n-1)%n], &o.sides[i]
	w := wedge{v: o.pts[i], a: a, b: b, p: a.w1, q: b.w0}
	w.sin, w.cos = geom.Cross(a.a, b.a), geom.Dot(a.a, b.a)
	limit := o.limit
	if b.first {
		w.one = o.edges[b.edge]
		if w.one.Limit != 0 {
			limit = w.one.Limit
		}
	}
	w.limit = limit * math.Max(w.p, w.q)
	if w.p == 0 && w.q == 0 {
		return w.at(w.v)
	}
	if o.inward || !b.first {
		return w.mitred()
	}
	switch w.one.Corner {
	case Squared:
		return w.squared(o, i)
	case Mirrored:
		return w.mirrored(o, i)
	case MitredHem:
		return w.mitredHem()
	}
	if fold, ok := o.fold(w); ok {
		return fold
	}
	return w.mitred()
}

func (w wedge) at(p orb.Point) (j join) {
	j.add(p, w.a.edge)
	return j
}

// tip is where both moved lines meet. ok is false where that lies before the corner seen from one
// of the edges, which is where an allowance would be cut thin; apart where the lines do not meet
// outside at all.
func (w wedge) tip() (p orb.Point, ok, apart bool) {
	if w.p == w.q && w.a.w0 == w.p && w.b.w1 == w.q {
		if 1+w.cos < 1e-9 {
			return p, false, true
		}
		return geom.Add(w.v, geom.Mul(geom.Add(w.a.n, w.b.n), w.p/(1+w.cos))), true, false
	}
	p, s, t, ok := geom.MeetLines(w.a.p1, geom.Sub(w.a.p1, w.a.p0), w.b.p0, geom.Sub(w.b.p1, w.b.p0))
	if !ok {
		return p, false, w.cos < 0
	}
	d := geom.Sub(p, w.v)
	slack := -1e-9 * (w.p + w.q)
	return p, geom.Dot(d, w.a.a) >= slack && geom.Dot(d, w.b.a) <= -slack, s < 0 && t > 0 && w.cos < 0
}

// mitred goes through the tip, cuts it at the limit, or steps.
func (w wedge) mitred() join {
	p, ok, apart := w.tip()
	switch {
	case ok && geom.Dist(p, w.v) <= w.limit*(1+1e-12):
		return w.at(p)
	case !ok && !apart:
		return w.stepped()
	}
	dir := geom.Unit(geom.Sub(p, w.v))
	if !ok || dir == (orb.Point{}) { // where the lines do not meet, the way towards it
		dir = geom.Unit(geom.Add(geom.Mul(w.a.n, w.p*w.sin), geom.Mul(w.a.a, w.q-w.p*w.cos)))
	}
	across := geom.Left(dir)
	at := geom.Add(w.v, geom.Mul(dir, w.limit))
	var j join
	for _, s := range []struct {
		p0, p1 orb.Point
		from   int
	}{{w.a.p0, w.a.p1, w.a.edge}, {w.b.p0, w.b.p1, -1}} {
		c, _, _, ok := geom.MeetLines(at, across, s.p0, geom.Sub(s.p1, s.p0))
		if !ok {
			return w.stepped()
		}
		j.add(c, s.from)
	}
	return j
}

// stepped goes on along the narrower cut line to the square through the corner on the wider edge,
// and along that to the wider cut line. Where the narrower line meets that square beyond the wider
// width there is no step to make, and the ends are joined straight; so they are where both widths
// agree, which is how a tapering cut line goes round a curve.
func (w wedge) stepped() (j join) {
	if math.Abs(w.p-w.q) <= 1e-9 {
		from := -1
		if w.a.edge == w.b.edge {
			from = w.a.edge
		}
		j.add(w.a.p1, w.a.edge)
		j.add(w.b.p0, from)
		return j
	}
	if w.p < w.q {
		if x, _, t, ok := geom.MeetLines(w.a.p1, geom.Sub(w.a.p1, w.a.p0), w.v, w.b.n); ok && t >= 0 && t <= w.q {
			j.add(x, w.a.edge)
		} else {
			j.add(w.a.p1, w.a.edge)
		}
		j.add(w.b.p0, -1)
		return j
	}
	j.add(w.a.p1, w.a.edge)
	if x, _, t, ok := geom.MeetLines(w.b.p0, geom.Sub(w.b.p1, w.b.p0), w.v, w.a.n); ok && t >= 0 && t <= w.p {
		j.add(x, -1)
	} else {
		j.add(w.b.p0, -1)
	}
	return j
}

// meetMoved is where a line crosses the moved line of an edge.
func meetMoved(p, dir orb.Point, s *side) (orb.Point, bool) {
	at, _, _, ok := geom.MeetLines(p, dir, s.p0, geom.Sub(s.p1, s.p0))
	return at, ok
}

// squared runs the first seam's line out to the other cut line and squares its cut line there.
func (w wedge) squared(o *offsetter, i int) (j join) {
	e, _, bent, ok := o.runOut(w, i)
	if !ok || geom.Dist(e, w.v) > w.limit {
		return w.mitred()
	}
	if w.one.SewnFirst {
		if bent {
			j.add(w.a.p1, w.a.edge)
		}
		j.add(e, w.a.edge)
		top, _ := meetMoved(e, w.b.n, w.b)
		j.add(top, -1)
		return j
	}
	top, _ := meetMoved(e, w.a.n, w.a)
	j.add(top, w.a.edge)
	j.add(e, -1)
	if bent {
		j.add(w.b.p0, -1)
	}
	return j
}

// fold keeps an allowance from crossing a fold's line, an edge without any width, where the other
// edge runs off at an open angle: what would lie beyond is blocked.
func (o *offsetter) fold(w wedge) (j join, ok bool) {
	zero := func(s *side) bool { e := o.edges[s.edge]; return e.From == 0 && e.To == 0 }
	if w.cos <= 0 || w.sin <= 0 || zero(w.a) == zero(w.b) {
		return j, false
	}
	width := math.Max(w.p, w.q)
	if width/w.sin > w.limit {
		return j, false
	}
	reach, deep := math.Min(w.limit, width/w.sin+width), width*1.001
	j.add(w.v, w.a.edge)
	if zero(w.a) {
		j.add(w.b.p0, -1)
		out, down := geom.Mul(w.a.a, reach), geom.Mul(w.a.n, deep)
		j.blocks = []block{{
			pts:  []orb.Point{w.v, geom.Add(w.v, down), geom.Add(w.v, geom.Add(down, out)), geom.Add(w.v, out)},
			from: []int{w.a.edge, -1, -1, -1},
		}}
		return j, true
	}
	j.pts[0] = w.a.p1
	j.add(w.v, -1)
	out, down := geom.Mul(w.b.a, -reach), geom.Mul(w.b.n, deep)
	j.blocks = []block{{
		pts:  []orb.Point{w.v, geom.Add(w.v, out), geom.Add(w.v, geom.Add(out, down)), geom.Add(w.v, down)},
		from: []int{-1, w.b.edge, -1, -1},
	}}
	return j, true
}
