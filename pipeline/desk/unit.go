package desk

import (
	"math"
	"strconv"

	"tracewheel/pipeline/making"
	"tracewheel/pipeline/pattern"
)

// unitMM are the units in which a person measures, in mm.
var unitMM = map[string]float64{"mm": 1, "cm": 10, "in": 25.4}

// personsUnit is the unit in which the person of a wish is measured: all that is told of it is told in that, but for the
// draft's own words.
func (d *Desk) personsUnit(in wish) string {
	h := d.headWith(in.Name, in.Text)
	unit := d.unitFor(h, bodyOf(h, in.Body))
	if len(in.Measures) > 0 {
		unit = unitOr(in.Unit, unit)
	}
	return unit
}

// makerFor makes for the person of a wish.
func (d *Desk) makerFor(in wish) *making.Maker {
	m := d.maker()
	m.Unit = d.personsUnit(in)
	return m
}

// sayIn writes a length of mm in a unit, without it: in sixteenths of an inch, or to a hundredth.
func sayIn(mm float64, unit string) string {
	if unit == "in" {
		return pattern.Inches(math.Round(mm/25.4*16) * 25.4 / 16)
	}
	return strconv.FormatFloat(math.Round(100*mm/unitMM[unit])/100, 'f', -1, 64)
}

// converted are measures in another unit than they were written in; what cannot be read stays as it is.
func converted(measures map[string]string, from, to string) map[string]string {
	out := map[string]string{}
	for name, v := range measures {
		out[name] = v
		if mm, err := pattern.ParseLengthIn(v, unitMM[from]); err == nil {
			if to != "in" {
				mm = math.Round(mm) // as a tape is read
			}
			out[name] = sayIn(mm, to)
		}
	}
	return out
}
