package check

import (
	"fmt"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/pattern"
)

// words says lengths and places the way the workroom reads them, in inches also where the draft is drawn in them.
type words struct {
	inches bool
	places pattern.Places
}

func newWords(p *pattern.Pattern, inches bool) words {
	return words{inches: p.InInches(inches), places: p.Places(inches)}
}

// length says a length: "10 mm", or in inches "3/8 in (9.5 mm)".
func (w words) length(mm float64) string {
	if !w.inches {
		return w.number(mm) + " mm"
	}
	return fmt.Sprintf("%s in (%s mm)", pattern.Inches(mm), pattern.Tenths(mm))
}

// number says a length that another one follows, which then brings the unit.
func (w words) number(mm float64) string {
	if !w.inches {
		return pattern.Tenths(mm)
	}
	return pattern.Inches(mm)
}

// place says where.
func (w words) place(p orb.Point) string { return w.places.Say(p) }
