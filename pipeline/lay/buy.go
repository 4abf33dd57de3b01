package lay

import "math"

// Shop says how cloth is bought: Shrinkage is the part of its length that it loses, 0 to 1; Ends what each of the
// two cut ends takes, mm; Step the shop's least amount, mm, 0 for any.
type Shop struct {
	Shrinkage, Ends, Step float64
}

// Whole is a length on a material in whole mm, never less than it is.
func Whole(mm float64) float64 { return math.Ceil(mm - 0.001) }

// ToBuy is what must be bought for a laid length, mm: laid / (1 - shrinkage) and both ends, rounded up to the
// shop's step. The ends, 2 to 3 cm each, are common practice.
func (s Shop) ToBuy(laid float64) float64 {
	need := laid/(1-s.Shrinkage) + 2*s.Ends
	if s.Step <= 0 {
		return need
	}
	return math.Ceil(need/s.Step-1e-9) * s.Step
}
