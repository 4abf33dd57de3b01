package darts

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
)

// mouth is where a dart, or fullness that a dart became, reaches the outline.
type mouth struct {
	dart     *drawnDart
	Name     string
	about    orb.Point // the point about which it turns
	p        orb.Point // where a dart ends that stayed as drawn
	made     bool      // its cap is to be made
	Fullness string    // gathers or ease; nothing for a dart
	stitched bool      // of a Fold, which draws its own legs
}

// MouthOf is the mouth of the dart of that name, -1 for none.
func (s *Ring) MouthOf(name string) int {
	for m, o := range s.Mouths {
		if o.Name == name {
			return m
		}
	}
	return -1
}

// End is the point of the dart by now: drawn, or so far short of the point about which it turned.
func (o *mouth) End(a, b orb.Point) orb.Point {
	if !o.made {
		return o.p
	}
	mid := geom.Lerp(a, b, 0.5)
	return geom.Add(o.about, geom.Mul(geom.Unit(geom.Sub(mid, o.about)), o.dart.short))
}

// Legs are the ends of a mouth in the ring; false where it was closed.
func (s *Ring) Legs(m int) (a, b orb.Point, ok bool) {
	for _, ed := range s.Edges {
		for _, g := range ed.Curve {
			if g.Mouth == m+1 {
				if !ok {
					a, ok = g.From, true
				}
				b = g.To
			}
		}
	}
	return a, b, ok
}

// mouthAt is where a mouth lies: its edge, its first stretch, and the first behind it.
func (s *Ring) mouthAt(m int) (edge, from, to int) {
	for i, ed := range s.Edges {
		for k, g := range ed.Curve {
			if g.Mouth != m+1 {
				continue
			}
			for to = k; to < len(ed.Curve) && ed.Curve[to].Mouth == m+1; to++ {
			}
			return i, k, to
		}
	}
	return -1, 0, 0
}

// markMouth is the curve as the mouth of that number.
func markMouth(c curve.Curve, m int) curve.Curve {
	out := append(curve.Curve(nil), c...)
	for i := range out {
		out[i].Mouth = m
	}
	return out
}

// ClothLength is a curve's length without the mouths in it.
func ClothLength(c curve.Curve) float64 {
	var sum float64
	for _, s := range c {
		if s.Mouth == 0 {
			sum += s.Length()
		}
	}
	return sum
}

// PlaceOnCloth is the place at a length from the start, the mouths stepped over; at a mouth it is the
// place before it.
func PlaceOnCloth(c curve.Curve, l float64) curve.Place {
	at := curve.Place{Index: len(c) - 1, T: 1}
	for i, s := range c {
		if s.Mouth != 0 {
			continue
		}
		n := s.Length()
		at = curve.Place{Index: i, T: s.AtLength(math.Min(l, n))}
		if l <= n+1e-9 {
			break
		}
		l -= n
	}
	return at
}

// MouthEdge is the edge that is the mouth of a drawn dart, -1 where the dart is gone.
func (s *Ring) MouthEdge(m int) int {
	for i, ed := range s.Edges {
		if ed.Curve[0].Mouth == m+1 && ed.Curve[len(ed.Curve)-1].Mouth == m+1 {
			return i
		}
	}
	return -1
}
