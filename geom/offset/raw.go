package offset

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// The raw line is the sum of the boundaries of the outline, of a strip for each stretch and of a
// wedge for each opening corner, all counter-clockwise, so its winding number at a place is the
// number of these that cover it. Where neighbours share a line it is left out.
//
// At a closing corner both strips overlap. Each may there be ended along the corner's bisector: a
// place beyond that is nearer to the neighbouring stretch, and with one width all round whatever
// is nearest to a place covers it. This keeps the raw line as long as the outline; with strips in
// full, a curve tighter than the allowance would cross itself at a square of its vertices.

// rawLine holds closed loops one after the other. Segment k runs from pts[k] to the next point of
// its loop; from[k] is the edge it belongs to, or -1. A loop marked as block takes away what it
// encloses.
type rawLine struct {
	pts    []orb.Point
	from   []int32
	smooth []bool // the vertex is none of the line's corners
	loops  []rawLoop
}

type rawLoop struct {
	lo, hi int
	block  bool
}

// reset empties the line and keeps its memory.
func (r *rawLine) reset() {
	r.pts, r.from, r.smooth, r.loops = r.pts[:0], r.from[:0], r.smooth[:0], r.loops[:0]
}

// next is the point after k within its loop.
func (r *rawLine) next(k int, l rawLoop) int {
	if k+1 == l.hi {
		return l.lo
	}
	return k + 1
}

// add appends a point; from is the edge of the segment that ends there.
func (r *rawLine) add(p orb.Point, from int, smooth bool) {
	r.pts = append(r.pts, p)
	r.from = append(r.from, int32(from))
	r.smooth = append(r.smooth, smooth)
}

// close ends a loop that began at lo: labels move from a segment's end to its start.
func (r *rawLine) close(lo int, block bool) {
	hi := len(r.pts)
	if hi-lo < 3 {
		r.pts, r.from, r.smooth = r.pts[:lo], r.from[:lo], r.smooth[:lo]
		return
	}
	first := r.from[lo]
	copy(r.from[lo:hi-1], r.from[lo+1:hi])
	r.from[hi-1] = first
	r.loops = append(r.loops, rawLoop{lo, hi, block})
}

func (o *offsetter) rawLine() *rawLine {
	n := len(o.pts)
	for i := range n {
		o.classify(i)
	}
	o.chooseTrims()
	r := &o.raw
	r.reset()
	var blocks []block
	before := o.top(n - 1)
	for i := range n {
		after := o.top(i)
		blocks = append(blocks, o.corner(r, i, before, after)...)
		if after.apex {
			r.add(after.left, o.sides[i].edge, true)
		}
		before = after
	}
	r.close(0, false)
	for _, b := range blocks {
		lo := len(r.pts)
		for k, p := range b.pts {
			r.add(p, b.from[k], false)
		}
		r.close(lo, true)
	}
	return r
}

// classify says whether the corner at the start of stretch i opens.
func (o *offsetter) classify(i int) {
	n := len(o.pts)
	a, b := &o.sides[(i+n-1)%n], &o.sides[i]
	sin, cos := geom.Cross(a.a, b.a), geom.Dot(a.a, b.a)
	if cos < 0 && math.Abs(sin) < 1e-12 {
		b.opening = o.spike(i)
		b.turn = math.Inf(1)
		return
	}
	b.opening = sin >= 0
	b.turn = math.Abs(sin) / (1 + cos)
}

// spike tells whether the outline turns back at i with cloth behind it (a spike) and not with
// cloth before it (the end of a slit).
func (o *offsetter) spike(i int) bool {
	n := len(o.pts)
	ahead := geom.Add(o.pts[i], geom.Mul(o.sides[(i+n-1)%n].a, 1e-5))
	return geom.Path{Points: o.pts, Closed: true}.Contains(ahead) == o.inward
}

// top is the outer side of a strip, or the apex where both its ends meet before the full width.
type top struct {
	left, right orb.Point
	apex        bool
}

func (o *offsetter) top(i int) top {
	s := &o.sides[i]
	if !s.trim0 && !s.trim1 {
		return top{s.p0, s.p1, false}
	}
	var tl, tr float64
	if s.trim0 {
		tl = s.turn
	}
	if s.trim1 {
		tr = o.sides[(i+1)%len(o.sides)].turn
	}
	w := s.w0
	if h := s.len / (tl + tr); h <= w {
		p := geom.Add(o.pts[i], geom.Add(geom.Mul(s.a, tl*h), geom.Mul(s.n, h)))
		return top{p, p, true}
	}
	return top{geom.Add(s.p0, geom.Mul(s.a, tl*w)), geom.Sub(s.p1, geom.Mul(s.a, tr*w)), false}
}

// corner adds what lies between the tops of the strips before and after vertex i. The ends of a
// top that continue straight into a join are left out.
func (o *offsetter) corner(r *rawLine, i int, before, after top) []block {
	n := len(o.pts)
	a, b := &o.sides[(i+n-1)%n], &o.sides[i]
	if b.opening {
		if before.apex {
			r.add(a.p1, -1, false)
		}
		if tip, ok := o.plainTip(i, a, b); ok {
			r.add(tip, a.edge, o.smooth[i])
			if after.apex {
				r.add(b.p0, b.edge, false)
			}
			return nil
		}
		j := o.join(i)
		for k, p := range j.pts {
			r.add(p, j.from[k], o.smooth[i])
		}
		if after.apex {
			r.add(b.p0, b.edge, false)
		}
		return j.blocks
	}
	both := a.trim1 && b.trim0
	if !before.apex {
		r.add(before.right, a.edge, both && o.smooth[i])
	}
	if !both {
		r.add(o.pts[i], -1, false)
	}
	if !after.apex && (before.apex || !both) {
		r.add(after.left, -1, false)
	}
	return nil
}

// plainTip is the common corner, a mitre between parallels of one width, without the ceremony of a
// join; ok is false where it is anything else.
func (o *offsetter) plainTip(i int, a, b *side) (tip orb.Point, ok bool) {
	w := b.w0
	if a.w1 != w || a.w0 != w || b.w1 != w || b.first && !o.inward {
		return tip, false
	}
	c := 1 + geom.Dot(a.a, b.a)
	if c*o.limit*o.limit < 2 { // the tip lies sqrt(2/(1+cos)) widths away
		return tip, false
	}
	k := w / c
	v := o.pts[i]
	return orb.Point{v[0] + k*(a.n[0]+b.n[0]), v[1] + k*(a.n[1]+b.n[1])}, true
}
