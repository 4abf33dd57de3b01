package look

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// Lettering places words in a picture so that they do not overlap: beside the place they belong to where that is free,
// else farther off with a line that leads to them. Lengths are the picture's own. The zero Lettering has no edge.
type Lettering struct {
	// Within is the visible part of the picture; empty for no edge.
	Within orb.Bound
	taken  []orb.Bound
}

// Distance of a word from its place at first, the step of the search, and the distance from which a line leads to it.
const (
	letteringGap  = 3.0
	letteringStep = 3.0
	letteringLed  = 12.0
	letteringMost = 240.0
	ways          = 16
)

// Take keeps a box free of words.
func (l *Lettering) Take(box orb.Bound) { l.taken = append(l.taken, box) }

// Place finds a free box for words of a width and height near their place, first in the direction of an angle
// (radians). led is true where they are so far off that a line must lead to them.
func (l *Lettering) Place(at orb.Point, wide, high, angle float64) (box orb.Bound, led bool) {
	box, led, ok := l.Near(at, wide, high, angle, letteringMost)
	if !ok {
		box = besideOf(at, wide, high, letteringGap, angle)
		l.Take(box)
	}
	return box, led
}

// Near is Place for words that are left out where nothing within most is free.
func (l *Lettering) Near(at orb.Point, wide, high, angle, most float64) (box orb.Bound, led, ok bool) {
	edged := l.Within.Min != l.Within.Max && l.Within.Contains(at)
	for off := letteringGap; off < most; off += letteringStep {
		for i := range ways {
			turn := float64((i+1)/2) * 2 * math.Pi / ways
			if i%2 == 0 {
				turn = -turn
			}
			box := besideOf(at, wide, high, off, angle+turn)
			if l.free(box) && (!edged || l.Within.Contains(box.Min) && l.Within.Contains(box.Max)) {
				l.Take(box)
				return box, off > letteringLed, true
			}
		}
	}
	return box, false, false
}

// besideOf is a box at a distance from a place, in the direction of an angle.
func besideOf(at orb.Point, wide, high, off, angle float64) orb.Bound {
	s, c := math.Sincos(angle)
	half := func(v float64) float64 { return math.Max(-0.5, math.Min(0.5, v/math.Sqrt2)) } // at 45 degrees the box's corner is nearest
	x, y := at[0]+c*off+half(c)*wide, at[1]+s*off+half(s)*high
	return orb.Bound{Min: orb.Point{x - wide/2, y - high/2}, Max: orb.Point{x + wide/2, y + high/2}}
}

// free reports whether a box overlaps no taken one; a shared edge does not count.
func (l *Lettering) free(box orb.Bound) bool {
	return !slices.ContainsFunc(l.taken, func(t orb.Bound) bool {
		return box.Min[0] < t.Max[0] && t.Min[0] < box.Max[0] && box.Min[1] < t.Max[1] && t.Min[1] < box.Max[1]
	})
}
