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

// cornerFine is by how many degrees joined corners may miss 180 (common practice).
const cornerFine = 3.0

// IndexOf is a piece's place among the pieces, -1 where it is none of them.
func (e *Garment) IndexOf(pc *Piece) int {
	for i, q := range e.Pieces {
		if q == pc {
			return i
		}
	}
	return -1
}
