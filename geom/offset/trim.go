package offset

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// chooseTrims decides at which closing corners strips end along the bisector.
func (o *offsetter) chooseTrims() {
	n := len(o.pts)
	narrower := map[float64]*geom.Tree{}
	for i := range n {
		a, b := &o.sides[(i+n-1)%n], &o.sides[i]
		w := b.w0
		if b.opening || a.w0 != w || a.w1 != w || b.w1 != w || math.IsInf(b.turn, 1) {
			continue
		}
		// How far the part cut off reaches along the neighbour.
		reach := w * math.Max(2*b.turn/(1+b.turn*b.turn), b.turn)
		switch {
		case !o.even && reach <= a.len/2 && reach <= b.len/2:
			a.trim1, b.trim0 = true, true // both strips cover it, and no other corner's part is in it
		case o.even || o.alike(i, w, narrower):
			a.trim1 = o.closingRun(i, 1, reach)
			b.trim0 = o.closingRun(i, -1, reach)
		}
	}
}

// alike tells whether round vertex i, as far as both strips reach and what is nearest to a place in
// them, all has width w or more and plain corners: then whatever is nearest covers, as with one
// width all round.
func (o *offsetter) alike(i int, w float64, narrower map[float64]*geom.Tree) bool {
	t, ok := narrower[w]
	if !ok {
		t = o.unlike(w)
		narrower[w] = t
	}
	n := len(o.pts)
	far := 2*w + math.Max(o.sides[(i+n-1)%n].len, o.sides[i].len)
	_, _, d2 := t.Nearest(o.pts[i])
	return d2 > far*far
}

// unlike lists the stretches narrower than w or tapering, and the corners that are no plain mitres
// between equal widths.
func (o *offsetter) unlike(w float64) *geom.Tree {
	n := len(o.pts)
	var ends [][2]orb.Point
	for i := range n {
		s, before := &o.sides[i], &o.sides[(i+n-1)%n]
		switch {
		case s.w0 != s.w1 || s.w0 < w:
			ends = append(ends, [2]orb.Point{o.pts[i], o.pts[(i+1)%n]})
		case before.w1 != s.w0 || s.first && o.edges[s.edge].Corner != Mitred:
			ends = append(ends, [2]orb.Point{o.pts[i], o.pts[i]})
		}
	}
	return geom.NewTree(ends)
}

// closingRun tells whether the outline goes on from vertex i, forward or backward, without
// opening, for a length of reach seen along its first stretch: then each place above that is
// nearer to this run than to the line behind it.
func (o *offsetter) closingRun(i, step int, reach float64) bool {
	n := len(o.pts)
	k := i
	if step < 0 {
		k = (i + n - 1) % n
	}
	first := o.sides[k].a
	var got float64
	for range 256 {
		cos := geom.Dot(first, o.sides[k].a)
		if cos <= 0 {
			return false
		}
		if got += o.sides[k].len * cos; got >= reach {
			return true
		}
		corner := k // the corner passed on the way to the next stretch
		if step > 0 {
			corner = (k + 1) % n
		}
		if o.sides[corner].opening {
			return false
		}
		k = (k + step + n) % n
	}
	return false
}
