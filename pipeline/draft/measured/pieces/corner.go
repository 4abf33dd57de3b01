package pieces

import (
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
)

// AddCorner keeps what two corners come to that meet when the piece is sewn; mend is for those that make a point.
func (e *Garment) AddCorner(s *sentence.Sentence, pc *Piece, what string, deg float64, at orb.Point, mend string) {
	e.Corners = append(e.Corners, pattern.Corner{What: what, Degrees: deg, Piece: pc.Name, Index: e.IndexOf(pc), At: e.ToMM(pc.opened(at)), Mend: mend,
		Line: s.Line, Column: s.Column})
}

// IndexOf is a piece's place among the pieces, -1 where it is none of them.
func (e *Garment) IndexOf(pc *Piece) int { return slices.Index(e.Pieces, pc) }
