package sewn

import (
	"math"
	"slices"

	"tracewheel/pipeline/draft/measured/pieces"
)

// halfNotches sets the notches of a half on the fold, which is taken twice, on the whole edge to which it is sewn, each on both
// sides of the middle, and one on the fold once there; or those of the whole edge on the half, where each has its mirror image there.
// Each stands as far from the fold, or from the seam's end, as it is nearer to. It gives false for any other seam.
func (e *Sewing) halfNotches(a, b []edgeTimes) bool {
	if len(a) != 1 || len(b) != 1 || a[0].Times != 2 || b[0].Times != 1 {
		return false
	}
	half, whole := a[0], b[0]
	corners := half.corners()
	if corners[0].Cross.Fold == corners[1].Cross.Fold || corners[0].Cross.Fold && half.Piece.Twice {
		return false
	}
	h, w := half.sewn(), whole.sewn()/2
	fromFold := func(l float64) float64 { // and back
		if corners[1].Cross.Fold {
			return h - l
		}
		return l
	}
	ofHalf, ofWhole := half.statedNotches(), whole.statedNotches()
	same := atJoint / e.UnitMM
	switch {
	case len(ofWhole) == 0:
		for _, n := range ofHalf {
			d := carried(fromFold(n.Worn), h, w)
			if d < 0 || d > w {
				continue
			}
			whole.add(n, w-d)
			if d > same {
				whole.add(n, w+d)
			}
		}
	case len(ofHalf) == 0 && !slices.ContainsFunc(ofWhole, func(n pieces.Notch) bool {
		return !slices.ContainsFunc(ofWhole, func(o pieces.Notch) bool { return math.Abs(n.Worn+o.Worn-2*w) <= same })
	}):
		for _, n := range ofWhole {
			if d := carried(n.Worn-w, w, h); d > same && d <= h { // the fold marks the middle
				half.add(n, fromFold(d))
			}
		}
	}
	return true
}

// carried is a length along an edge on another that is sewn to it: as far from the end to which it is nearer.
func carried(l, long, there float64) float64 {
	if l > long/2 {
		return there - (long - l)
	}
	return l
}

// add sets a notch on the edge, so far along what of it is sewn.
func (r edgeTimes) add(n pieces.Notch, l float64) {
	l += r.Free[0]
	n.Edge, n.Worn, n.At = r.Edge, l, r.Piece.Place(r.Edge, l)
	r.Piece.Notches = append(r.Piece.Notches, n)
}
