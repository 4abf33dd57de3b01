package pattern

import (
	"fmt"
	"math"
)

// TimeLeft says in minutes how long something takes still, seconds; "" for nothing.
func TimeLeft(seconds float64) string {
	minutes := int(math.Ceil(seconds / 60))
	switch {
	case seconds <= 0:
		return ""
	case minutes <= 1:
		return "about a minute left"
	case minutes < 100:
		return fmt.Sprintf("about %d min left", minutes)
	}
	return fmt.Sprintf("about %d h %d min left", minutes/60, minutes%60)
}

// Minutes says a time in seconds in words.
func Minutes(s float64) string {
	switch {
	case s < 90:
		return fmt.Sprintf("%.0f s", math.Ceil(s))
	case s < 5400:
		return fmt.Sprintf("%.0f min", math.Ceil(s/60))
	default:
		return fmt.Sprintf("%.1f h", s/3600)
	}
}
