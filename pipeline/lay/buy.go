package lay

import "math"

// Shop says how cloth is bought: Shrinkage is the part of its length that it loses, 0 to 1; Ends what each of the
// two cut ends takes, mm; Step the shop's least amount, mm, 0 for any.
type Shop struct {
	Shrinkage, Ends, Step float64
}

// Whole is a length on a material in whole mm, never less than it is.
func Whole(mm float64) float64 { return Up(mm, 1) }

// Up rounds a length up to a step, mm. Less than a thousandth of a mm is no length: 540.0000004 is 540.
func Up(mm, step float64) float64 { return math.Ceil((mm-0.001)/step) * step }

// ToBuy is what must be bought for a laid length, mm: laid / (1 - shrinkage) and both ends, rounded up to the
// shop's step. The ends, 2 to 3 cm each, are common practice.
func (s Shop) ToBuy(laid float64) float64 {
	need := laid/(1-s.Shrinkage) + 2*s.Ends
	if s.Step <= 0 {
		return need
	}
	return Up(need, s.Step)
}

// Within is the longest lay for which no more than so much is bought, mm.
func (s Shop) Within(buy float64) float64 { return (buy - 2*s.Ends) * (1 - s.Shrinkage) }
