package testsquare

import (
	"fmt"
	"math"
	"time"

	"tracewheel/devices/calibration"
)

// Drift compares each calibration with the one before: what the device needed then and needs now. It
// tells of changes that are larger than both were sure, and says so where there are none.
func (c *Calibrations) Drift() []string {
	var out []string
	var last *Calibrated
	compared := 0
	for i := range c.Entries {
		e := &c.Entries[i]
		if e.Blade != nil || e.Withdrawn != nil {
			continue
		}
		if last != nil {
			compared++
			out = append(out, drift(*last, *e)...)
		}
		last = e
	}
	if compared > 0 && len(out) == 0 {
		out = append(out, "none that the readings could tell")
	}
	return out
}

func drift(a, b Calibrated) []string {
	var out []string
	tell := func(name, unit string, change, sure float64) {
		if math.Abs(change) > sure {
			out = append(out, fmt.Sprintf("from %s to %s %s changed by %+.3f %s (both sure to %.3f together)",
				day(a.At), day(b.At), name, change, unit, sure))
		}
	}
	ra, rb := a.Result, b.Result
	ka, kb := calibration.Inverse(ra.Correction), calibration.Inverse(rb.Correction)
	tell("x", "%", 100*(kb.ScaleX/ka.ScaleX-1), 100*(ra.X.Wide+rb.X.Wide))
	tell("y", "%", 100*(kb.ScaleY/ka.ScaleY-1), 100*(ra.Y.Wide+rb.Y.Wide))
	if ra.SquareKnown && rb.SquareKnown {
		tell("the squareness", "degrees", calibration.Degrees(math.Atan(kb.Skew/kb.ScaleY)-math.Atan(ka.Skew/ka.ScaleY)),
			calibration.Degrees(ra.Square.Wide+rb.Square.Wide))
	}
	return out
}

func day(t time.Time) string { return t.Local().Format("2006-01-02") }
