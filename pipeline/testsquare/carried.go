package testsquare

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"tracewheel/devices/calibration"
	"tracewheel/devices/paper"
)

// Every sheet of a printer says which calibration it was printed with. Readings that are taken for those of another
// sheet double the correction or cancel it, and the program cannot know which sheet was measured, so a person must say
// it.

// ErrUnsaid is wrapped where a person must say which calibration the sheet carries.
var ErrUnsaid = errors.New("which calibration the sheet was corrected by must be said")

// unsaid is the error where a sheet of a paper may carry a calibration; without any recorded one, it carries none.
func (c *Calibrations) unsaid(p paper.Paper) error {
	var carried []string
	for i := range c.Entries {
		if e := &c.Entries[i]; e.isOn(p) { // sheets of a withdrawn calibration still carry it
			carried = append(carried, fmt.Sprint(e.No))
		}
	}
	if len(carried) == 0 {
		return nil
	}
	return fmt.Errorf("%w: every sheet says \"corrected by calibration %s\" or \"corrected by no calibration\", the first in its text, the others at their upper edge; one that says nothing carries none (%s on %s was measured as calibration %s). Say --calibration and that number; --calibration 0 for none",
		ErrUnsaid, carried[len(carried)-1], c.Device, p.Name, strings.Join(carried, ", "))
}

// with says which calibration a printer's sheet carries.
func with(calibration int) string {
	switch {
	case calibration < 0:
		return "as the sheet itself says"
	case calibration == 0:
		return "without any correction"
	}
	return fmt.Sprintf("with calibration %d", calibration)
}

// aboutSheet adds hints and doubts about the sheet that was read.
func (f *Form) aboutSheet(r *calibration.Result) {
	o := f.Order
	if !r.SquareKnown {
		r.Hints = append(r.Hints, fmt.Sprintf("to add the squareness, read both diagonals of this same sheet and record all its readings again, with --diagonals and --calibration %d, by which this sheet is corrected", o.Calibration))
	}
	if f.Kept == nil {
		return
	}
	for _, e := range f.Kept.Entries {
		if e.Paper == o.Paper && e.Withdrawn == nil && e.Measured.InForce != o.InForce && f.alike(e.Measured) {
			r.Doubts = append(r.Doubts, fmt.Sprintf("these are the readings of calibration %d again, whose sheet was printed %s, and this one %s: if it is the same sheet, it is the same calibration (--calibration %d)", e.No, with(e.Carried), with(o.Calibration), e.Carried))
		}
	}
}

// alike reports whether the sides that two measurements have in common, at least two, have the same readings, and
// these are not all nominal.
func (f *Form) alike(of calibration.Measured) bool {
	if len(of.Squares) != 1 || len(f.measured.Squares) != 1 {
		return false
	}
	a, b := of.Squares[0], f.measured.Squares[0]
	shared, off := 0, false
	for _, side := range calibration.SquareSides {
		x, y := a.Readings[side], b.Readings[side]
		if len(x) == 0 || len(y) == 0 {
			continue
		}
		if a.Nominal(side) != b.Nominal(side) || !slices.Equal(x, y) {
			return false
		}
		shared++
		off = off || slices.ContainsFunc(x, func(v float64) bool { return v != a.Nominal(side) })
	}
	return shared >= 2 && off
}
