package pieces

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
)

// TellCorner says by how much joined corners miss 180 degrees.
func (e *Garment) TellCorner(s *sentence.Sentence, pc *Piece, what string, deg float64, at orb.Point, mend string) bool {
	off := deg - 180
	if math.Abs(off) <= cornerFine {
		return true
	}
	f := e.Note(s, pattern.RuleCornerNotTrue, pattern.Warning,
		fmt.Sprintf("%s makes a point: the corners add to %.2f degrees, %.2f off 180", what, deg, math.Abs(off)),
		mend)
	f.Piece, f.Index = pc.Name, e.IndexOf(pc)
	f.At = pattern.Place(e.ToMM(pc.opened(at)))
	return false
}

// Limits of the trade for a plain seam, in mm: up to 1 is let pass, up to 2 warned of, more refused;
// joined corners add to 180 within 3 degrees (all common practice).
const (
	SeamFine   = 1.0
	SeamMost   = 2.0
	cornerFine = 3.0
)

// compareLengths is the same for two lengths of one piece.
func (e *Garment) compareLengths(s *sentence.Sentence, pc *Piece, what string, a, b, ease float64) {
	off := math.Abs(b-a-ease) * e.UnitMM
	if off <= SeamFine {
		return
	}
	sev := pattern.Warning
	if off > SeamMost {
		sev = pattern.Error
	}
	f := e.Note(s, pattern.RuleSeamLengths, sev, fmt.Sprintf("%s are %s and %s: %s apart", what, e.WithUnit(a), e.WithUnit(b), e.WithUnit(math.Abs(b-a))), "make both one length")
	f.Piece, f.Index = pc.Name, e.IndexOf(pc)
}

// IndexOf is a piece's place among the pieces, -1 where it is none of them.
func (e *Garment) IndexOf(pc *Piece) int {
	for i, q := range e.Pieces {
		if q == pc {
			return i
		}
	}
	return -1
}
