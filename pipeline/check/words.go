package check

import (
	"fmt"
	"math"
	"strconv"

	"github.com/paulmach/orb"
)

// words says lengths and places the way the workroom reads them.
type words struct{ inches bool }

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

// place says where: "(120.5, 30.0)" in mm, or inches with two places behind the point.
func (w words) place(p orb.Point) string {
	if !w.inches {
		return fmt.Sprintf("(%s, %s)", decimal(p[0], 1), decimal(p[1], 1))
	}
	return fmt.Sprintf("(%s, %s) in", decimal(p[0]/25.4, 2), decimal(p[1]/25.4, 2))
}

// decimal writes without a minus before zero.
func decimal(v float64, places int) string {
	s := strconv.FormatFloat(v, 'f', places, 64)
	if zero := strconv.FormatFloat(0, 'f', places, 64); s == "-"+zero {
		return zero
	}
	return s
}

// inches writes the fraction that a tape shows where one lies within a tenth of a millimetre -
// sixteenths at the finest - and else a decimal.
func inches(mm float64) string {
	in := mm / 25.4
	sixteenths := math.Round(in * 16)
	if math.Abs(in*16-sixteenths)*25.4/16 > 0.1 {
		return decimal(in, 3)
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
