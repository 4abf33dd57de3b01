package making

import (
	"fmt"
	"math"

	"tracewheel/pipeline/pattern"
)

// Unreadable is the Work of a file that could not even be opened.
func Unreadable(file string, err error) *Work {
	w := &Work{Request: Request{Name: file}}
	w.add(refused(pattern.NewFinding(pattern.RuleUnreadable, err.Error(), "")))
	return w
}

// Minutes tells a time in seconds in words.
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
