package testsquare

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"text/tabwriter"

	"tracewheel/config"
	"tracewheel/devices/calibration"
	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// ToReach says which square and which ruler reach an accuracy in per cent on a device.
func ToReach(room *config.Workroom, device string, percent float64) string {
	p, m := room.On(device, "")
	if p.Kind.Prints() {
		return fmt.Sprintf("%s is a %s, whose squares are those of the first sheet: the frame of a sheet tells more (--wanted)", device, p.Kind)
	}
	lies := pattern.MaterialOn("", p, m)
	greatest := lies.Width - 2*lies.Margin
	if lies.Length > 0 {
		greatest = math.Min(greatest, lies.Length-2*lies.Margin)
	}
	for _, inch := range []bool{room.Units == "in", false} { // a ruler in mm may reach a better accuracy
		best, ok := calibration.Wish(calibration.Ways(greatest, inch), percent/100)
		if !ok {
			continue
		}
		size, ruler := fmt.Sprintf("%.0f mm", best.Size), fmt.Sprintf("%g mm", best.Graduation)
		if inch {
			size, ruler = fmt.Sprintf("%.0f in", best.Size/25.4), fmt.Sprintf("1/%.0f in", 25.4/best.Graduation)
		}
		return fmt.Sprintf("%g %%: a square of %s read to %s is sure to %.3f %% and %.3f degrees (95 of 100)", percent,
			size, ruler, 100*best.Scale, calibration.Degrees(best.Square))
	}
	return fmt.Sprintf("no square that %s has room for reaches %g %% with a ruler down to 0.1 mm", device, percent)
}

// Text formats a result in the form's unit.
func (f *Form) Text(r calibration.Result) string { return resultText(r, f.Unit, f.Order.Paper) }

// Text formats the result of a calibration.
func (e Calibrated) Text(unit string) string { return resultText(e.Result, unit, e.Paper) }

func resultText(r calibration.Result, unit, paper string) string {
	if paper == "" {
		return text(r, unit)
	}
	return printer.Replace(text(r, unit))
}

// text formats a result for people: the device's errors, the readings with their residuals, then hints and doubts.
func text(r calibration.Result, unit string) string {
	var b strings.Builder
	on, whole := "a metre", 1000.0
	if unit = cmp.Or(unit, "mm"); unit == "in" {
		on, whole = "a yard", 36*25.4
	}
	decimals := map[string]int{"mm": 1, "cm": 2, "in": 2}[unit]
	long := whole / pattern.UnitMM(unit)
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fmt.Fprintf(t, "\tdrawn\ton %s\tsure to (95 of 100)\n", on)
	row := func(name, drawn string, off float64, sure string, u calibration.Uncertainty) {
		fmt.Fprintf(t, "%s\t%s\t%+.*f %s\t%s, %.*f %s on %s\n", name, drawn, decimals, geom.Rounded(long*off, decimals), unit, sure, decimals, long*u.Wide, unit, on)
	}
	scale := func(name string, k float64, u calibration.Uncertainty) {
		row(name, off("%.2f %%", 100*(k-1), "true", "too long", "too short"), k-1, fmt.Sprintf("%.2f %%", 100*u.Wide), u)
	}
	scale("x, along", r.ScaleX, r.X)
	scale("y, across", r.ScaleY, r.Y)
	if r.SquareKnown {
		degrees := calibration.Degrees(r.Shear)
		row("corners", off("%.2f degrees off square,", degrees, "square", "the lower left too sharp", "the lower left too wide"),
			math.Sin(r.Shear), fmt.Sprintf("%.2f degrees", calibration.Degrees(r.Square.Wide)), r.Square)
	}
	_ = t.Flush() // to memory: cannot fail
	residuals(&b, r, unit)
	if r.Roll != nil {
		fmt.Fprintf(&b, "roll: the feed is off by %+.3f %% (sure to %.3f), the lines differ as if askew by %.3f degrees (sure to %.3f), and lie %+.1f mm further apart at their end\n",
			geom.Rounded(100*r.Roll.Creep, 3), 100*r.Roll.CreepSure, geom.Rounded(calibration.Degrees(r.Roll.Turn), 3), calibration.Degrees(r.Roll.TurnSure), geom.Rounded(r.Roll.Spread, 1))
	}
	for _, h := range r.Hints {
		fmt.Fprintf(&b, "hint: %s\n", h)
	}
	for _, d := range r.Doubts {
		fmt.Fprintf(&b, "doubt: %s\n", d)
	}
	fmt.Fprintf(&b, "correction factors: x %.6f, y %.6f, skew %+.6f\n", r.Correction.ScaleX, r.Correction.ScaleY, geom.Rounded(r.Correction.Skew, 6))
	return b.String()
}

// off formats an amount with the word for its sign, or says none where it is printed as zero.
func off(format string, amount float64, none, over, under string) string {
	word := over
	if amount < 0 {
		word = under
	}
	if math.Abs(amount) < 0.005 {
		return none
	}
	return fmt.Sprintf(format+" %s", math.Abs(amount), word)
}

// residuals writes the table of all readings.
func residuals(b *strings.Builder, r calibration.Result, unit string) {
	t := tabwriter.NewWriter(b, 0, 0, 2, ' ', tabwriter.AlignRight)
	wanted, decimals := map[string]int{"mm": 1, "cm": 2, "in": 3}[unit], map[string]int{"mm": 2, "cm": 3, "in": 3}[unit]
	fmt.Fprintf(t, "square\tside\twanted %s\tread\tbeside the fit\t\n", unit)
	mm := pattern.UnitMM(unit)
	for _, f := range r.Residuals {
		square := fmt.Sprint(f.Square + 1)
		if f.Square < 0 {
			square = "-"
		}
		fmt.Fprintf(t, "%s\t%s\t%.*f\t%.*f\t%+.*f\t\n", square, f.Side, wanted, f.Nominal/mm, decimals, f.Read/mm, decimals, geom.Rounded(f.Off()/mm, decimals))
	}
	_ = t.Flush() // to memory: cannot fail
}

// Past lists a device's calibrations, their drift, and the squares that were ordered and never recorded.
func (c *Calibrations) Past() (lines []string) {
	if len(c.Entries) > 0 {
		lines = append(lines, "history:")
	}
	for _, e := range c.Entries {
		said := slices.DeleteFunc([]string{e.Square(), e.Day(), e.Who, e.What()}, func(s string) bool { return s == "" })
		lines = append(lines, fmt.Sprintf("  %d  %s", e.No, strings.Join(said, "  ")))
	}
	for _, d := range c.Drift() {
		lines = append(lines, "drift: "+d)
	}
	for _, o := range c.Unrecorded() {
		lines = append(lines, fmt.Sprintf("not recorded: %s (tracewheel square record %s --plot %d)", o, o.Device, o.No))
	}
	return lines
}
