package measured

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// mouth is where a dart, or fullness that a dart became, reaches the outline.
type mouth struct {
	told  *dartTold
	name  string
	about orb.Point // the point about which it turns
	p     orb.Point // where a dart ends that stayed as drawn
	made  bool      // its cap is to be made
	as    string    // gathers or ease; nothing for a dart
}

// mouthOf is the mouth of the dart of that name, -1 for none.
func (s *shaping) mouthOf(name string) int {
	for m, o := range s.mouths {
		if o.name == name {
			return m
		}
	}
	return -1
}

// end is the point of the dart by now: drawn, or so far short of the point about which it turned.
func (o *mouth) end(a, b orb.Point) orb.Point {
	if !o.made {
		return o.p
	}
	mid := geom.Lerp(a, b, 0.5)
	return geom.Add(o.about, geom.Mul(geom.Unit(geom.Sub(mid, o.about)), o.told.short))
}

// legs are the ends of a mouth in the ring; false where it was closed.
func (s *shaping) legs(m int) (a, b orb.Point, ok bool) {
	for _, ed := range s.edges {
		for _, g := range ed.c {
			if g.mouth == m+1 {
				if !ok {
					a, ok = g.a, true
				}
				b = g.b
			}
		}
	}
	return a, b, ok
}

// mouthAt is where a mouth lies: its edge, its first stretch, and the first behind it.
func (s *shaping) mouthAt(m int) (edge, from, to int) {
	for i, ed := range s.edges {
		for k, g := range ed.c {
			if g.mouth != m+1 {
				continue
			}
			for to = k; to < len(ed.c) && ed.c[to].mouth == m+1; to++ {
			}
			return i, k, to
		}
	}
	return -1, 0, 0
}

// marked is the curve as the mouth of that number.
func (c curve) marked(m int) curve {
	out := append(curve(nil), c...)
	for i := range out {
		out[i].mouth = m
	}
	return out
}

// cloth is a curve's length without the mouths in it.
func (c curve) cloth() float64 {
	var sum float64
	for _, s := range c {
		if s.mouth == 0 {
			sum += s.length()
		}
	}
	return sum
}

// onCloth is the place at a length from the start, the mouths stepped over; at a mouth it is the
// place before it.
func (c curve) onCloth(l float64) place {
	at := place{len(c) - 1, 1}
	for i, s := range c {
		if s.mouth != 0 {
			continue
		}
		n := s.length()
		at = place{i, s.atLength(math.Min(l, n))}
		if l <= n+1e-9 {
			break
		}
		l -= n
	}
	return at
}

// mouthEdge is the edge that is the mouth of a drawn dart, -1 where the dart is gone.
func (s *shaping) mouthEdge(m int) int {
	for i, ed := range s.edges {
		if ed.c[0].mouth == m+1 && ed.c[len(ed.c)-1].mouth == m+1 {
			return i
		}
	}
	return -1
}
