package lay

import (
	"fmt"

	"tracewheel/pipeline/pattern"
)

// Laid says a length on the cloth, never less than it is.
func Laid(mm float64, inches bool) string {
	if inches {
		return pattern.Inches(Up(mm, 25.4/8)) + " in"
	}
	return fmt.Sprintf("%.0f mm", Whole(mm))
}

// Across says a width of cloth.
func Across(mm float64, inches bool) string {
	if inches {
		return pattern.Inches(mm) + " in"
	}
	return fmt.Sprintf("%.0f mm", mm)
}

// Bought says a length as a shop does: metres, or yards in eighths.
func Bought(mm float64, inches bool) string {
	if inches {
		return pattern.Inches(mm/914.4*25.4) + " yd"
	}
	return fmt.Sprintf("%.2f m", mm/1000)
}
