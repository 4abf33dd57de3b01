package assemble

import (
	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// inside tells quickly whether points lie in an outline: its stretches are sorted into level bands,
// and only those of the point's band are looked at.
type inside struct {
	path geom.Path
	y0   float64
	per  float64 // bands to the mm
	// stretches of band k are list[first[k]:first[k+1]].
	first, list []int32
}

// newInside makes the bands. Long upright stretches lie in many of them; bands are made fewer until
// they hold a bounded number of entries in all.
func newInside(p geom.Path) *inside {
	p.Closed = true // an open outline counts as closed by its chord
	b := p.Bound()
	in := &inside{path: p, y0: b.Min[1]}
	segs := p.Segments()
	height := b.Max[1] - b.Min[1]
	if segs == 0 || !(height > 0) {
		return in
	}
	var rise float64
	for i := range segs {
		a, z := p.Segment(i)
		rise += max(a[1], z[1]) - min(a[1], z[1])
	}
	n := max(1, min(4096, segs/2, int(8*float64(segs)*height/rise)))
	in.per = float64(n) / height
	in.first = make([]int32, n+1)
	in.each(func(k, _ int) { in.first[k+1]++ })
	for k := range n {
		in.first[k+1] += in.first[k]
	}
	in.list = make([]int32, in.first[n])
	next := append([]int32(nil), in.first...)
	in.each(func(k, i int) {
		in.list[next[k]] = int32(i)
		next[k]++
	})
	return in
}

// each goes through the stretches of every band.
func (in *inside) each(do func(band, stretch int)) {
	for i := range in.path.Segments() {
		a, z := in.path.Segment(i)
		for k := in.band(min(a[1], z[1])); k <= in.band(max(a[1], z[1])); k++ {
			do(k, i)
		}
	}
}

func (in *inside) band(y float64) int {
	return max(0, min(len(in.first)-2, int((y-in.y0)*in.per)))
}

// holds tells whether the outline winds round the point, and how many stretches were looked at.
// Points on the line itself may be told either way.
func (in *inside) holds(q orb.Point) (yes bool, work int) {
	if len(in.first) == 0 {
		return false, 0
	}
	wind := 0
	k := in.band(q[1])
	band := in.list[in.first[k]:in.first[k+1]]
	for _, i := range band {
		a, b := in.path.Segment(int(i))
		switch {
		case a[1] <= q[1] && b[1] > q[1] && geom.Cross(geom.Sub(b, a), geom.Sub(q, a)) > 0:
			wind++
		case a[1] > q[1] && b[1] <= q[1] && geom.Cross(geom.Sub(b, a), geom.Sub(q, a)) < 0:
			wind--
		}
	}
	return wind != 0, len(band) + 1
}
