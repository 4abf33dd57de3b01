package lay

import (
	"cmp"
	"math"
)

// Shop is how cloth is bought: Shrinkage is the share of its length that it loses, 0 to 1; Ends the length of each of
// the two cut ends, mm; Step the shop's least amount, mm, 0 for any. Tape is the step to which lengths are rounded for
// people, mm: calculations use the rounded lengths, so that the printed numbers add up.
type Shop struct {
	Shrinkage, Ends, Step, Tape float64
}

// usualEnds is the default length of a cut end, mm.
const usualEnds = 30

// ShopFor is a shop of a unit with the default ends and step where they are 0: 3 cm for each cut end, sold by 10 cm or
// 1/8 yd. In inches an end is rounded up as it is printed, to 1/8 in.
func ShopFor(unit string, shrinkage, ends, step float64) Shop {
	s := Shop{shrinkage, cmp.Or(ends, usualEnds), cmp.Or(step, 100), 1}
	if unit == "in" {
		s.Tape, s.Step = eighth, cmp.Or(step, 914.4/8)
		s.Ends = Up(s.Ends, eighth)
	}
	return s
}

// eighth is an eighth of an inch, mm.
const eighth = 25.4 / 8

// Whole rounds a length on a material up to whole mm.
func Whole(mm float64) float64 { return Up(mm, 1) }

// Up rounds a length up to a step, mm. Less than a thousandth of a mm is ignored: 540.0000004 is 540.
func Up(mm, step float64) float64 { return math.Ceil((mm-0.001)/step) * step }

// ToBuy is the length to buy for a laid length, mm: laid / (1 - shrinkage) and both ends, rounded up to the shop's
// step. Ends of 2 to 3 cm are common practice.
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

// Within is the longest lay for which no more than buy is bought, mm.
func (s Shop) Within(buy float64) float64 {
	laid := (buy - 2*s.Ends) * (1 - s.Shrinkage)
	if s.Tape > 0 {
		laid = math.Floor(laid/s.Tape+1e-6) * s.Tape
	}
	return laid
}
