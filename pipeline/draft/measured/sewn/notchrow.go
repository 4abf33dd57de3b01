package sewn

import (
	"math"
	"slices"

	"tracewheel/pipeline/draft/measured/pieces"
)

// laidFromStart lays a row on the one edge of a strip or a rectangle, whose ends have no names of a garment: in the order in
// which it is told, from the strip's start to its far end, where an underlap is.
func (w row) laidFromStart() row {
	if r := w.edges[0]; r.Edge == 2 { // the far edge runs back
		return w.reversed()
	}
	return w
}

// wholeOf is a half on the fold that is sewn twice, opened, in a row of such: where its middle lies along the row, in the draft's
// unit, and how long the half is.
type wholeOf struct {
	half      edgeTimes
	mid, long float64
	atEnd     bool // the fold is at the edge's end
}

// fromFold is a length along the half counted from the fold, and back.
func (w wholeOf) fromFold(l float64) float64 {
	if w.atEnd {
		return w.long - l
	}
	return l
}

// wholes opens the halves of a side, each taken twice, in the order in which they are told; false where one is none.
func wholes(side []edgeTimes) (out []wholeOf, long float64, ok bool) {
	for _, r := range side {
		corners := r.corners()
		if r.Times != 2 || corners[0].Cross.Fold == corners[1].Cross.Fold || r.Piece.Twice {
			return nil, 0, false
		}
		h := r.sewn()
		out = append(out, wholeOf{r, long + h, h, corners[1].Cross.Fold})
		long += 2 * h
	}
	return out, long, true
}

// halvesNotches sets the notches of a row of halves on the fold, as of a skirt's front and back, on the whole edge to which they
// are sewn, as a band, and the other way round: there each has its mirror image beside the same middle. The row is told from the
// start of a strip, toward the underlap of a drawn band. It gives false for any other seam.
func (e *Sewing) halvesNotches(a, b []edgeTimes) bool {
	if len(a) < 2 || len(b) != 1 || b[0].Times != 1 {
		return false
	}
	row, long, ok := wholes(a)
	if !ok {
		return false
	}
	band, drawn := b[0], b[0].Piece.Drawing != nil
	if drawn && band.Free == [2]float64{} {
		return false // nobody knows at which end the row begins
	}
	there, same := band.sewn(), atJoint/e.UnitMM
	place := func(l float64) float64 { // and back
		if !drawn && band.Edge == 2 || drawn && band.Free[0] > 0 {
			return there - l
		}
		return l
	}
	ofBand := band.statedNotches()
	ofRow := slices.ContainsFunc(row, func(w wholeOf) bool { return len(w.half.statedNotches()) > 0 })
	switch {
	case ofRow && len(ofBand) == 0:
		for _, w := range row {
			for _, n := range w.half.statedNotches() {
				d := w.fromFold(n.Worn)
				for _, l := range []float64{w.mid - d, w.mid + d} {
					if l = carried(l, long, there); l >= 0 && l <= there {
						band.add(n, place(l))
					}
					if d <= same { // on the fold, which is one place
						break
					}
				}
			}
		}
	case !ofRow:
		at := func(n pieces.Notch) float64 { return carried(place(n.Worn), there, long) }
		for _, n := range ofBand {
			for _, w := range row {
				d := at(n) - w.mid
				mirrored := slices.ContainsFunc(ofBand, func(o pieces.Notch) bool { return math.Abs(at(o)-w.mid+d) <= same })
				if d > same && d < w.long-same && mirrored { // the fold marks the middle, the seam the end
					w.half.add(n, w.fromFold(d))
				}
			}
		}
	}
	return true
}
