package lay

import (
	"cmp"
	"math"
)

// Shop says how cloth is bought: Shrinkage is the part of its length that it loses, 0 to 1; Ends what each of the
// two cut ends takes, mm; Step the shop's least amount, mm, 0 for any. Tape is the step in which lengths are told, mm:
// what is laid is reckoned as it is told, so that a person who adds up what is told comes to the same.
type Shop struct {
	Shrinkage, Ends, Step, Tape float64
}

// usualEnds is what a cut end takes where the workroom says nothing, mm.
const usualEnds = 30

// ShopFor is a shop that tells lengths in a unit, where no ends and no step are said by its habits: 3 cm for each cut end, sold by 10 cm or
// 1/8 yd. In inches an end counts as it is told, to 1/8 in.
func ShopFor(unit string, shrinkage, ends, step float64) Shop {
	s := Shop{shrinkage, cmp.Or(ends, usualEnds), cmp.Or(step, 100), 1}
	if unit == "in" {
		s.Tape, s.Step = eighth, cmp.Or(step, 914.4/8)
		s.Ends = Up(s.Ends, eighth)
	}
	return s
}

// eighth of an inch, mm.
const eighth = 25.4 / 8

// Whole is a length on a material in whole mm, never less than it is.
func Whole(mm float64) float64 { return Up(mm, 1) }

// Up rounds a length up to a step, mm. Less than a thousandth of a mm is no length: 540.0000004 is 540.
func Up(mm, step float64) float64 { return math.Ceil((mm-0.001)/step) * step }

// ToBuy is what must be bought for a laid length, mm: laid / (1 - shrinkage) and both ends, rounded up to the
// shop's step. The ends, 2 to 3 cm each, are common practice.
func (s Shop) ToBuy(laid float64) float64 {
	if s.Tape > 0 {
		laid = Up(laid, s.Tape)
	}
	need := laid/(1-s.Shrinkage) + 2*s.Ends
	if s.Step <= 0 {
		return need
	}
	return Up(need, s.Step)
}

// Within is the longest lay for which no more than so much is bought, mm.
func (s Shop) Within(buy float64) float64 {
	laid := (buy - 2*s.Ends) * (1 - s.Shrinkage)
	if s.Tape > 0 {
		laid = math.Floor(laid/s.Tape+1e-6) * s.Tape
	}
	return laid
}
