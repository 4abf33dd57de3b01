package pattern

import (
	"cmp"
	"fmt"
	"strconv"

	"github.com/paulmach/orb"
)

// Places says where something lies the way the draft's file has it. The zero Places says mm, y up.
type Places struct {
	// Unit is "mm", "cm" or "in"; mm where it is empty.
	Unit string
	// PageHeight turns y over: places are seen from the page's upper left corner, y down, where it is
	// not 0. It is Pattern.PageHeight.
	PageHeight float64
	measured   bool // edges have names by which a person knows them
	pieces     []Piece
	drafts     []*Pattern
}

// Places says places of the draft in words, see ReadIn.
func (p *Pattern) Places(room string) Places {
	return Places{p.ReadIn(room), p.PageHeight, p.Format == "measured", p.Pieces, p.Drafts}
}

// SayOn tells a place on a piece within a sentence: by its lettered points and edges where it has some, else
// as Say does.
func (w Places) SayOn(p *Piece, at orb.Point) string {
	return cmp.Or(p.spot(at, w.in(), w.measured), w.Say(at))
}

// WhereIs tells where a finding is in a line of its own, "" where it has no place.
func (w Places) WhereIs(f Finding) string {
	if f.At == nil {
		return ""
	}
	if w.drafts != nil {
		p, first := among(w.drafts, f.Index)
		if p == nil {
			return "" // in which draft nobody can tell
		}
		f.Index -= first
		return p.Places(w.Unit).WhereIs(f)
	}
	if f.Index >= 0 && f.Index < len(w.pieces) {
		if words := w.pieces[f.Index].spot(*f.At, w.in(), w.measured); words != "" {
			return "at " + words
		}
	}
	return w.Where(*f.At)
}

// numbers are both coordinates of a place in the draft's frame (mm, y up) as they are told.
func (w Places) numbers(at orb.Point) (x, y string) {
	if w.PageHeight != 0 {
		at[1] = w.PageHeight - at[1]
	}
	if w.in() == "in" {
		return Decimal(at[0]/25.4, 2), Decimal(at[1]/25.4, 2)
	}
	return SayLength(at[0], w.in()), SayLength(at[1], w.in())
}

func (w Places) in() string { return cmp.Or(w.Unit, "mm") }

// Say tells a place within a sentence: "(120.5, 30)" in mm, "(1.00, 0.50) in" in inches.
func (w Places) Say(at orb.Point) string {
	x, y := w.numbers(at)
	if w.in() != "mm" {
		return fmt.Sprintf("(%s, %s) %s", x, y, w.in())
	}
	return fmt.Sprintf("(%s, %s)", x, y)
}

// Where tells a place in a line of its own, with its unit and the corner from which it is seen.
func (w Places) Where(at orb.Point) string {
	x, y := w.numbers(at)
	unit, from := w.in(), "in the draft"
	if unit == "in" {
		from = "of the draft"
	}
	if w.PageHeight != 0 {
		from = "from the page's upper left corner, y down"
	}
	return fmt.Sprintf("at %s, %s %s %s", x, y, unit, from)
}

// Decimal writes a number with so many places behind the point, and no minus before zero.
func Decimal(v float64, places int) string {
	s := strconv.FormatFloat(v, 'f', places, 64)
	if zero := strconv.FormatFloat(0, 'f', places, 64); s == "-"+zero {
		return zero
	}
	return s
}
