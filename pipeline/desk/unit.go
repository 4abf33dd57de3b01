package desk

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"

	"tracewheel/pipeline/desk/cardtext"
	"tracewheel/pipeline/desk/checks"
	"tracewheel/pipeline/desk/mend"
	"tracewheel/pipeline/making"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/tape"
)

// personsUnit is the unit in which a wish's person is measured: all results are shown in it, except for the draft's
// own text.
func (d *Desk) personsUnit(in wish) string {
	h := d.headWith(in.Name, in.Text)
	unit := d.unitFor(h, bodyOf(h, in.Body))
	if len(in.Measures) > 0 {
		unit = unitOr(in.Unit, unit)
	}
	return unit
}

// makerFor makes in the unit of a wish's person.
func (d *Desk) makerFor(in wish) *making.Maker {
	m := d.maker()
	m.Unit = d.personsUnit(in)
	return m
}

// fractionAlone is a number as on a tape in inches, without its unit.
var fractionAlone = regexp.MustCompile(`^\s*(?:\d+ +)?\d+/\d+\s*(?:,|$)|^\s*\d*[¼½¾⅛⅜⅝⅞]\s*(?:,|$)`)

// oddFractions warns of measures in cm or mm that are written as on a tape in inches, without a unit, and of fractions
// that are 1 or more.
func oddFractions(measures map[string]string, unit string) (out []fault) {
	for _, name := range slices.SortedFunc(maps.Keys(measures), tape.Compare) {
		v := measures[name]
		mm, err := pattern.ParseLengthIn(cardtext.Number(v), checks.UnitMM[unit])
		if meant := mend.Length(cardtext.Number(v)); err == nil && meant != "" {
			out = append(out, fault{Severity: string(pattern.Warning), Measure: name, Offer: &mend.Offer{Was: v, Word: strings.Replace(v, cardtext.Number(v), meant, 1)},
				Text: fmt.Sprintf("the measure %s: %s is taken as %s %s, and nobody reads a tape so", name, cardtext.Number(v), checks.SayIn(mm, unit), unit), Mend: "look at the tape once more; else write " + meant})
			continue
		}
		if err != nil || unit == "in" || !fractionAlone.MatchString(v) {
			continue
		}
		number, where, told := cardtext.Parts(v)
		inches := number + " in"
		if told {
			inches += "," + where
		}
		out = append(out, fault{Severity: string(pattern.Warning), Measure: name, Offer: &mend.Offer{Was: v, Word: inches},
			Text: fmt.Sprintf("the measure %s: %s is taken as %s %s, and fractions are how a tape of inches has it", name, number, checks.SayIn(mm, unit), unit),
			Mend: fmt.Sprintf("if it was taken in inches write %s; else write %s", inches, checks.SayIn(mm, unit))})
	}
	return out
}
