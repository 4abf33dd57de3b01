// Package sides puts the patterns of a garment together that is drawn for the right side of its wearer and for the
// left one: what is alike stays as it is, what is a pair becomes a piece for each side, what lies on the fold is opened
// out. It knows nothing of how either was drawn.
package sides

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// Way is how a piece is cut that is drawn for either side of the wearer.
type Way int

const (
	Alike  Way = iota // the sides do not differ
	Apart             // each side has its own
	Opened            // one piece, of which either half is for its side
	Single            // one that serves both sides
	Own               // one that the draft itself says of one side, by left or right in its name or its drawing's
)

// A piece that serves both sides may differ by so much between them, mm: what is let pass in a seam.
const oneServes = pattern.SeamTolerance

// Names are the sides, in the order in which all here is told of both.
var Names = [2]string{"right", "left"}

// Sides is a garment drawn for the right side of its wearer and for the left one.
type Sides struct {
	drawn [2]*pattern.Pattern
	Ways  []Way // of each piece
	// AsDrawn is for which side each piece is as it is drawn, and lies right side up; the other is its mirror image.
	AsDrawn []int
	unsaid  []bool // nothing in the draft says for which
	// OwnSide is of which side each piece is that is of one.
	OwnSide []int
}

// Of compares a garment's pattern for the right side with that for the left, which has the same pieces; madeOf names the drawing of
// each, "" for none.
func Of(right, left *pattern.Pattern, madeOf []string) Sides {
	s := Sides{drawn: [2]*pattern.Pattern{right, left}}
	for i := range s.drawn[0].Pieces {
		r, l := &s.drawn[0].Pieces[i], &s.drawn[1].Pieces[i]
		side, said := handDrawn(r, madeOf[i])
		s.AsDrawn, s.unsaid = append(s.AsDrawn, side), append(s.unsaid, !said)
		own, ofOne := ownSide(r.Name)
		if !ofOne && r.Quantity == 1 && r.FoldLine() == nil {
			own, ofOne = ownSide(madeOf[i])
		}
		s.OwnSide = append(s.OwnSide, own)
		off := differ(r, l)
		switch {
		case off < sameLine:
			s.Ways = append(s.Ways, Alike)
		case ofOne:
			s.Ways = append(s.Ways, Own)
		case r.FoldLine() != nil && r.Second == nil:
			s.Ways = append(s.Ways, Opened)
		case r.FoldLine() == nil && r.Quantity%2 == 0 && r.Quantity > 0:
			s.Ways = append(s.Ways, Apart)
		default:
			s.Ways = append(s.Ways, Single)
		}
	}
	return s
}

// sameLine is how far lines may lie apart, in mm, that are the same.
const sameLine = 0.01

// differ is how far two drawings of a piece lie apart, mm, with what lies inside and their allowances.
func differ(a, b *pattern.Piece) float64 {
	off := 0.0
	points := func(p, q []orb.Point) {
		if len(p) != len(q) {
			off = math.Inf(1)
			return
		}
		for i := range p {
			off = math.Max(off, geom.Dist(p[i], q[i]))
		}
	}
	var p, q []orb.Point
	for _, x := range []struct {
		pc *pattern.Piece
		at *[]orb.Point
	}{{a, &p}, {b, &q}} {
		for _, n := range x.pc.Notches {
			*x.at = append(*x.at, n.At)
		}
		for _, d := range x.pc.Drills {
			*x.at = append(*x.at, d.At)
		}
		for _, m := range x.pc.Marks {
			*x.at = append(*x.at, m.Path.Points...)
		}
		for _, c := range x.pc.Cutouts {
			*x.at = append(*x.at, c.Points...)
		}
		for _, d := range x.pc.Darts {
			*x.at = append(*x.at, d.A, d.Apex, d.B)
		}
	}
	points(p, q)
	if len(a.Edges) == len(b.Edges) {
		for i, e := range a.Edges {
			if v, w := e.Allowance, b.Edges[i].Allowance; v != nil && w != nil {
				off = max(off, math.Abs(v.From-w.From), math.Abs(v.To-w.To))
			}
		}
	}
	if l, k := a.EdgeLine(), b.EdgeLine(); l != nil && k != nil {
		if len(l.Points) == len(k.Points) {
			points(l.Points, k.Points)
		} else { // curves that are flattened unlike
			off = math.Max(off, sameLine)
			for _, at := range l.Points {
				off = math.Max(off, k.Nearest(at).Dist)
			}
		}
	}
	return off
}

// name is what a piece of one side is called.
func (s Sides) name(i, side int) string {
	n := s.drawn[0].Pieces[i].Name
	if s.Ways[i] == Apart {
		return Names[side] + " " + n
	}
	return n
}
