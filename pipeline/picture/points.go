package picture

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/geom/letters"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

// How the letters of points are placed in the picture of a piece, in picture units.
const (
	letterHigh = 10.0
	// letterBelow is how far a letter reaches below its baseline, as a share of its height.
	letterBelow = 0.3
	letterDot   = 2.2
	// letterMost is the greatest distance of a letter from its point, with a line that leads to it.
	letterMost = 36.0
)

// letterPoints draws the lettered points of a piece, each letter in free space, points of the outline first. A letter
// with no free space near its point is left out; its point is drawn.
func (c *Canvas) letterPoints(f frame, p *pattern.Piece) {
	room := bound(p).Pad(gutter / 2 / f.scale)
	box := orb.Bound{Min: f.at(orb.Point{room.Min[0], room.Max[1]}), Max: f.at(orb.Point{room.Max[0], room.Min[1]})}
	box.Max[1] -= gutter/2 - 4 // the caption is below
	free := look.Lettering{Within: box}
	var all, inner []pattern.Label
	line := p.EdgeLine()
	for _, l := range p.Points {
		switch {
		case !room.Contains(l.At): // it would be in another piece
		case line != nil && line.Nearest(l.At).Dist < geom.CloseTol:
			all = append(all, l)
		default:
			inner = append(inner, l)
		}
	}
	all = append(all, inner...)
	for _, l := range all {
		at := f.at(l.At)
		c.add("", Ink{Colour: look.Chalk}, true, circle(at, letterDot), true)
		free.Take(orb.Bound{Min: at, Max: at}.Pad(letterDot))
	}
	for _, l := range all {
		at := f.at(l.At)
		high := letterHigh * (1 + letterBelow)
		box, led, ok := free.Near(at, letters.Width(l.Text, letterHigh), high, -math.Pi/4, letterMost)
		if !ok {
			continue
		}
		if led {
			to := orb.Point{math.Max(box.Min[0], math.Min(at[0], box.Max[0])), math.Max(box.Min[1], math.Min(at[1], box.Max[1]))}
			c.add("", Ink{Colour: look.Chalk, Width: 0.6}, false, []orb.Point{at, to}, false)
		}
		c.text(orb.Point{box.Min[0], box.Max[1] - letterBelow*letterHigh}, l.Text, letterHigh, look.Chalk, leftOf)
	}
}
