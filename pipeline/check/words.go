package check

import (
	"fmt"
	"math"
	"strconv"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/pattern"
)

// words says lengths and places the way the workroom reads them.
type words struct {
	inches bool
	places pattern.Places
}

func newWords(p *pattern.Pattern, inches bool) words {
	return words{inches: inches, places: p.Places(inches)}
}

// length says a length: "10.0 mm", or in inches "3/8 in (9.5 mm)".
func (w words) length(mm float64) string {
	if !w.inches {
		return fmt.Sprintf("%.1f mm", mm)
	}
	return fmt.Sprintf("%s in (%.1f mm)", inches(mm), mm)
}

// number says a length that another one follows, which then brings the unit.
func (w words) number(mm float64) string {
	if !w.inches {
		return fmt.Sprintf("%.1f", mm)
	}
	return inches(mm)
}

// place says where.
func (w words) place(p orb.Point) string { return w.places.Say(p) }

// inches writes the fraction that a tape shows where one lies within a tenth of a millimetre -
// sixteenths at the finest - and else a decimal.
func inches(mm float64) string {
	in := mm / 25.4
	sixteenths := math.Round(in * 16)
	if math.Abs(in*16-sixteenths)*25.4/16 > 0.1 {
		return pattern.Decimal(in, 3)
	}
	n, bottom := int(math.Abs(sixteenths)), 16
	whole := n / 16
	n %= 16
	for n > 0 && n%2 == 0 {
		n, bottom = n/2, bottom/2
	}
	text := ""
	switch {
	case n == 0:
		text = strconv.Itoa(whole)
	case whole == 0:
		text = fmt.Sprintf("%d/%d", n, bottom)
	default:
		text = fmt.Sprintf("%d %d/%d", whole, n, bottom)
	}
	if sixteenths < 0 {
		text = "-" + text
	}
	return text
}
