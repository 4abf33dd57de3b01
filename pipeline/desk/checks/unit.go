package checks

import (
	"math"
	"strconv"

	"tracewheel/pipeline/pattern"
)

// UnitMM are the units of a person's measures, in mm.
var UnitMM = map[string]float64{"mm": 1, "cm": 10, "in": 25.4}

// SayIn formats a length of mm in a unit, without the unit: in sixteenths of an inch, or to a hundredth.
func SayIn(mm float64, unit string) string {
	if unit == "in" {
		return pattern.Inches(math.Round(mm/25.4*16) * 25.4 / 16)
	}
	return strconv.FormatFloat(math.Round(100*mm/UnitMM[unit])/100, 'f', -1, 64)
}
