package lay

import (
	"cmp"
	"fmt"
	"math"

	"tracewheel/pipeline/pattern"
)

// Laid formats a length on the cloth, rounded up.
func Laid(mm float64, unit string) string {
	if unit == "in" {
		return Across(Up(mm, eighth), unit)
	}
	return Across(Whole(mm), unit)
}

// Across formats a width of cloth.
func Across(mm float64, unit string) string {
	if unit != "in" {
		mm = math.Round(mm)
	}
	return pattern.Length(mm, cmp.Or(unit, "mm"))
}

// Bought formats a length as a shop does: metres, or yards in eighths.
func Bought(mm float64, unit string) string {
	if unit == "in" {
		return pattern.Inches(mm/914.4*25.4) + " yd"
	}
	return fmt.Sprintf("%.2f m", mm/1000)
}
