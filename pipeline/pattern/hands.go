package pattern

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// Hands tells which copies of a piece are turned over.
type Hands int

// The ways to cut several.
const (
	OneHand      Hands = iota // all lie as drawn
	Pairs                     // every second one is turned over
	PairsAssumed              // likewise, since an even number of a one-sided piece is asked for
)

// Hands tells which copies are turned over; outline is the piece's closed line, opened out. A pair is two
// pieces, one mirrored; an even number of a piece that is not its own mirror image means pairs too,
// unless the draft says alike (common practice). A strip on the bias serves with the slant either way.
func (p *Piece) Hands(outline geom.Path) Hands {
	switch {
	case p.Pair:
		return Pairs
	case p.Alike || p.Quantity < 2 || p.Quantity%2 != 0 || p.FoldLine() != nil:
		return OneHand
	case p.SameTurnedOver(outline):
		return OneHand
	}
	if a, b := p.TurnedOver(outline); !sameMirrored(outline, geom.Sub(b, a)) {
		return PairsAssumed
	}
	return Pairs
}

// SameTurnedOver tells whether a copy turned over is the same piece: a strip on the bias, or one that is its own
// mirror image and bears no marks. outline is its closed line, opened out.
func (p *Piece) SameTurnedOver(outline geom.Path) bool {
	if p.onBias() && sameMirrored(outline, orb.Point{0, 1}) {
		return true
	}
	a, b := p.TurnedOver(outline)
	return len(p.Notches)+len(p.Drills)+len(p.Marks)+len(p.Cutouts) == 0 && sameMirrored(outline, geom.Sub(b, a))
}

// TurnedOver is the line about which copies are turned over: along the grain through the middle of the
// outline, so that the grain keeps its direction.
func (p *Piece) TurnedOver(outline geom.Path) (a, b orb.Point) {
	dir := orb.Point{0, 1}
	if g := p.Grain; g != nil && geom.Dist(g.A, g.B) > geom.Tiny {
		dir = geom.Unit(geom.Sub(g.B, g.A))
	}
	c := outline.Bound().Center()
	return c, geom.Add(c, dir)
}

// sameMirrored tells whether an outline is its own image in the line through its middle in direction
// u, or in the line square to that.
func sameMirrored(w geom.Path, u orb.Point) bool {
	ix := geom.NewIndex(w)
	c := w.Bound().Center()
	return sameLine(ix, w.Apply(geom.MirrorLine(c, geom.Add(c, u)))) || sameLine(ix, w.Apply(geom.MirrorLine(c, geom.Add(c, geom.Left(u)))))
}

// onBias tells whether the grain runs at 45 degrees over the piece as drawn, to half a degree.
func (p *Piece) onBias() bool {
	g := p.Grain
	if g == nil {
		return false
	}
	d := geom.Sub(g.B, g.A)
	return geom.Norm(d) > geom.Tiny && math.Abs(math.Abs(d[0])-math.Abs(d[1])) < 0.0175*geom.Norm(d)*math.Sqrt2/2
}

// sameLine tells whether a line lies on the indexed one, within half a millimetre.
func sameLine(ix *geom.Index, p geom.Path) bool {
	r := p.Ruler()
	const looks = 200
	for k := range looks {
		at, _ := r.At(r.Length() * float64(k) / looks)
		if _, near := ix.Nearest(at); near.Dist > 0.5 {
			return false
		}
	}
	return true
}

// CutWords says how often a piece is cut, total times in all: "cut 1 on the fold", "cut 2, a pair".
func (p *Piece) CutWords(total int, h Hands) string {
	words := fmt.Sprintf("cut %d", max(total, 1))
	switch {
	case p.Second != nil:
		return words + " on two folds"
	case p.FoldLine() != nil:
		return words + " on the fold"
	case h == OneHand && p.Alike && total > 1:
		return words + ", alike"
	case h == OneHand || total < 2:
		return words
	case total == 2:
		return words + ", a pair"
	case total%2 == 0:
		return fmt.Sprintf("%s, %d pairs", words, total/2)
	}
	return words + ", in pairs"
}

// Whose says for whom a size is: "for chorus 4", or "size 12" where the draft has several; "" where it
// says none.
func (p *Pattern) Whose(size string) string {
	if size == "" {
		return ""
	}
	if p.Format == "measured" {
		for i := range p.Pieces {
			if p.Pieces[i].Size != size {
				return "size " + size
			}
		}
		if p.Fitted != "" {
			size += ", " + p.Fitted
		}
		return "for " + size
	}
	return "size " + size
}
