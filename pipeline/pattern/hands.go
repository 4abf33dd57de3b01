package pattern

import (
	"fmt"
	"math"
	"slices"

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

// SameTurnedOver tells whether a copy turned over is the same piece: a strip on the bias, or one that is with all of its marks
// its own mirror image, as a pocket with a button on its middle. outline is its closed line, opened out.
func (p *Piece) SameTurnedOver(outline geom.Path) bool {
	if p.onBias() && sameMirrored(outline, orb.Point{0, 1}) {
		return true
	}
	a, b := p.TurnedOver(outline)
	return slices.ContainsFunc(mirrorsOf(outline, geom.Sub(b, a)), p.sameMarks)
}

// sameMarks tells whether a mirror brings what is marked and cut inside the piece, and its notches, onto itself.
func (p *Piece) sameMarks(mirror geom.Affine) bool {
	notch := func(n Notch) bool {
		at := mirror.Apply(n.At)
		return slices.ContainsFunc(p.Notches, func(o Notch) bool { return o.Kind == n.Kind && geom.Dist(o.At, at) <= sameWithin })
	}
	drill := func(d Drill) bool {
		at := mirror.Apply(d.At)
		return slices.ContainsFunc(p.Drills, func(o Drill) bool { return geom.Dist(o.At, at) <= sameWithin })
	}
	mark := func(m Mark) bool {
		line := m.Path.Apply(mirror)
		return slices.ContainsFunc(p.Marks, func(o Mark) bool { return o.Role == m.Role && o.Label == m.Label && sameStroke(line, o.Path) })
	}
	cutout := func(c geom.Path) bool {
		line := c.Apply(mirror)
		return slices.ContainsFunc(p.Cutouts, func(o geom.Path) bool { return sameStroke(line, o) })
	}
	return every(p.Notches, notch) && every(p.Drills, drill) && every(p.Marks, mark) && every(p.Cutouts, cutout)
}

func every[T any](list []T, holds func(T) bool) bool {
	return !slices.ContainsFunc(list, func(v T) bool { return !holds(v) })
}

// sameStroke tells whether two lines lie on one another, drawn either way.
func sameStroke(a, b geom.Path) bool {
	if len(a.Points) == 0 || len(b.Points) == 0 || math.Abs(a.Length()-b.Length()) > 2*sameWithin {
		return len(a.Points) == 0 && len(b.Points) == 0
	}
	on := func(of, to geom.Path) bool {
		return every(of.Points, func(q orb.Point) bool { return to.Nearest(q).Dist <= sameWithin })
	}
	return on(a, b) && on(b, a)
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
func sameMirrored(w geom.Path, u orb.Point) bool { return len(mirrorsOf(w, u)) > 0 }

// mirrorsOf are those of the two mirrors in which an outline is its own image.
func mirrorsOf(w geom.Path, u orb.Point) []geom.Affine {
	c := w.Bound().Center()
	both := []geom.Affine{geom.MirrorLine(c, geom.Add(c, u)), geom.MirrorLine(c, geom.Add(c, geom.Left(u)))}
	ix := geom.NewIndex(w)
	return slices.DeleteFunc(both, func(m geom.Affine) bool { return !sameLine(ix, w.Apply(m)) })
}

// sameWithin is by how many mm a line and its mirror image may lie apart: common practice.
const sameWithin = 0.5

// onBias tells whether the grain runs at 45 degrees over the piece as drawn, to half a degree.
func (p *Piece) onBias() bool {
	g := p.Grain
	if g == nil {
		return false
	}
	d := geom.Sub(g.B, g.A)
	return geom.Norm(d) > geom.Tiny && math.Abs(math.Abs(d[0])-math.Abs(d[1])) < 0.0175*geom.Norm(d)*math.Sqrt2/2
}

// sameLine tells whether a line lies on the indexed one.
func sameLine(ix *geom.Index, p geom.Path) bool {
	r := p.Ruler()
	const looks = 200
	for k := range looks {
		at, _ := r.At(r.Length() * float64(k) / looks)
		if _, near := ix.Nearest(at); near.Dist > sameWithin {
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
