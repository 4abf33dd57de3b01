package sewn

import (
	"tracewheel/pipeline/draft/measured/pieces"
)

// partnerNotches sets the notches that are told of one side of a seam on the other side too, where nothing
// is told of that one: each as far from the end it is nearer to, so that ease lies between them. Which
// ends meet is told by the edges that cross there; where they do not tell, nothing is set.
func (e *Sewing) partnerNotches(a, b []edgeTimes) {
	if len(a) != 1 || len(b) != 1 || a[0].Times != 1 || b[0].Times != 1 || a[0] == b[0] {
		return
	}
	from, to := a[0], b[0]
	stated := from.statedNotches()
	if other := to.statedNotches(); len(stated) == 0 {
		from, to, stated = to, from, other
	} else if len(other) > 0 {
		return
	}
	same, sure := from.sameWay(to)
	if !sure {
		return
	}
	long, there := from.Piece.Worn[from.Edge].Curve.Length(), to.Piece.Worn[to.Edge].Curve.Length()
	for _, n := range stated {
		l := n.Worn
		if l > long/2 {
			l = there - (long - n.Worn)
		}
		if !same {
			l = there - l
		}
		if l < 0 || l > there {
			continue // so much shorter that it has no such place
		}
		n.Edge, n.Worn, n.At = to.Edge, l, to.Piece.Place(to.Edge, l)
		to.Piece.Notches = append(to.Piece.Notches, n)
	}
}

// statedNotches are those that the draft tells of an edge.
func (r edgeTimes) statedNotches() []pieces.Notch {
	var out []pieces.Notch
	for _, n := range r.Piece.Notches {
		if n.Edge == r.Edge && n.Sentence != nil {
			out = append(out, n)
		}
	}
	return out
}

// sameWay tells whether the start of one edge meets the start of the other; sure is false where the
// edges across do not tell.
func (r edgeTimes) sameWay(o edgeTimes) (same, sure bool) {
	score := 0
	for k, c := range r.corners() {
		for m, d := range o.corners() {
			switch {
			case c.Cross.Kind() != d.Cross.Kind():
			case k == m:
				score++
			default:
				score--
			}
		}
	}
	return score > 0, score != 0
}
