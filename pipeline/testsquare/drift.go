package testsquare

import (
	"fmt"
	"math"
	"time"

	"tracewheel/devices/calibration"
)

// Drift compares each calibration with the one before, on a printer with the one before on the same paper: the
// correction needed then and now. It reports changes larger than both uncertainties, and says where there are none.
func (c *Calibrations) Drift() []string {
	var out, papers []string
	last, told := map[string]*Calibrated{}, map[string][]string{}
	for i := range c.Entries {
		e := &c.Entries[i]
		if e.Blade != nil || e.Withdrawn != nil {
			continue
		}
		p := e.onPaper()
		if last[p] != nil {
			if _, known := told[p]; !known {
				papers = append(papers, p)
			}
			told[p] = append(told[p], drift(last[p], e)...)
		}
		last[p] = e
	}
	for _, p := range papers {
		head := ""
		if p != "" {
			head = "on " + p + ": "
		}
		if len(told[p]) == 0 {
			told[p] = []string{"none that the readings could tell"}
		}
		for _, line := range told[p] {
			out = append(out, head+line)
		}
	}
	return out
}

// drift describes the change between two calibrations of a device, on one paper.
func drift(a, b *Calibrated) []string {
	var out []string
	tell := func(name, unit string, change, sure float64) {
		if math.Abs(change) > sure {
			out = append(out, fmt.Sprintf("from %s to %s %s changed by %+.3f %s (both sure to %.3f together)",
				day(a.At), day(b.At), name, change, unit, sure))
		}
	}
	x, y := "x", "y"
	if b.Paper != "" {
		x, y = "widths", "heights"
	}
	wasK, wasX, wasY := a.standing()
	isK, isX, isY := b.standing()
	ka, kb := calibration.Inverse(wasK), calibration.Inverse(isK)
	tell(x, "%", 100*(kb.ScaleX/ka.ScaleX-1), 100*(wasX+isX))
	tell(y, "%", 100*(kb.ScaleY/ka.ScaleY-1), 100*(wasY+isY))
	if a.Result.SquareKnown && b.Result.SquareKnown {
		tell("the squareness", "degrees", calibration.Degrees(math.Atan(kb.Skew/kb.ScaleY)-math.Atan(ka.Skew/ka.ScaleY)),
			calibration.Degrees(a.Result.Square.Wide+b.Result.Square.Wide))
	}
	return out
}

func day(t time.Time) string { return t.Local().Format("2006-01-02") }
