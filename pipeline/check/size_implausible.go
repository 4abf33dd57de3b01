package check

import (
	"fmt"
	"math"

	"tracewheel/pipeline/pattern"
)

const (
	smallestPiece = 20.0   // mm: smaller than a tab for a button loop
	largestPiece  = 6000.0 // mm: longer than the sweep of a train
)

// sizeImplausible finds pieces far too small or too large for a garment, which is what a mistaken
// unit looks like: an inch read as a millimetre, a millimetre as an inch. Where all pieces are
// so, the unit is wrong and the draft refused; one odd piece among good ones is warned of.
func sizeImplausible(d *draft) []pattern.Finding {
	var out []pattern.Finding
	measured := 0
	for _, s := range d.pieces {
		if s.outline == nil {
			continue
		}
		measured++
		w, h := span(s.outline.Bound())
		size := math.Max(w, h)
		var wrong string
		switch {
		case size < smallestPiece:
			wrong = "small"
		case size > largestPiece:
			wrong = "large"
		default:
			continue
		}
		f := s.finding(pattern.RuleSizeImplausible,
			fmt.Sprintf("the piece is %s by %s, which is too %s for a garment", s.say.number(w), s.say.length(h), wrong),
			"check the unit of the draft: name it in the file, or in the ticket (unit: mm, cm or in)")
		f.At = s.middle()
		out = append(out, f)
	}
	if len(out) < measured {
		for i := range out {
			out[i].Severity = pattern.Warning
		}
	}
	return out
}
