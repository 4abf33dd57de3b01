package testsquare

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"tracewheel/devices/calibration"
	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// Form is the questions to a technician, and the answers so far. Lengths are stored in mm; Unit - "mm", "cm" or "in" -
// is the unit in which they are entered and shown.
type Form struct {
	Order Order
	Unit  string
	Ruler float64

	Who, Material, Humidity, Note string

	// Kept are the calibrations that readings are compared with, nil for none.
	Kept *Calibrations

	measured calibration.Measured
}

// NewForm is the form for a test square that was drawn. tape is the graduation of the tape for the long lines, 0 for
// the ruler's.
func NewForm(o Order, ruler, tape float64, unit string) *Form {
	f := &Form{Order: o, Unit: unit, Ruler: ruler}
	f.measured = calibration.Measured{Graduation: ruler, InForce: o.InForce}
	for _, at := range o.Places {
		f.measured.Squares = append(f.measured.Squares, calibration.Square{Width: o.Width, Height: o.Height, At: at,
			Readings: map[calibration.Side][]float64{}})
	}
	if o.Long > 0 {
		tape = cmp.Or(tape, ruler)
		f.measured.Long = &calibration.LongLine{Length: o.Long, Apart: o.LongApart, Graduation: tape,
			Readings: map[calibration.Side][]float64{}}
	}
	return f
}

// Result is the result of the readings.
type Result = calibration.Result

// Question is one thing to measure: Square counts from 1, 0 is the long lines.
type Question struct {
	Square int
	Side   calibration.Side
	// Nominal is its true length, mm.
	Nominal float64
}

// Questions are all questions of the form, in the order in which a person goes round with a ruler.
func (f *Form) Questions() []Question {
	var out []Question
	for i, s := range f.measured.Squares {
		for _, side := range calibration.SquareSides {
			out = append(out, Question{i + 1, side, s.Nominal(side)})
		}
	}
	if l := f.measured.Long; l != nil {
		for _, side := range calibration.LongSides {
			out = append(out, Question{0, side, l.Nominal(side)})
		}
	}
	return out
}

// Answer takes the readings of one side as written: "499.5", or several, "499.5 500". An empty text is no reading.
func (f *Form) Answer(square int, side calibration.Side, text string) error {
	into := map[calibration.Side][]float64(nil)
	switch {
	case square >= 1 && square <= len(f.measured.Squares) && slices.Contains(calibration.SquareSides, side):
		into = f.measured.Squares[square-1].Readings
	case square == 0 && f.measured.Long != nil && slices.Contains(calibration.LongSides, side):
		into = f.measured.Long.Readings
	case f.isLadder():
		return fmt.Errorf("test square %d is a ladder of blade offsets: its best one is all that is recorded of it (--blade)", f.Order.No)
	case square == 0 && f.measured.Long == nil:
		return fmt.Errorf("test square %d was drawn without long lines", f.Order.No)
	case square < 0 || square > len(f.measured.Squares):
		return fmt.Errorf("test square %d has no square %d, only 1 to %d", f.Order.No, square, len(f.measured.Squares))
	default:
		return fmt.Errorf("there is no side %q; a square has %v, the long lines (square 0) %v", side, calibration.SquareSides, calibration.LongSides)
	}
	read, err := pattern.ParseLengths(text, pattern.UnitMM(f.Unit))
	if err != nil {
		return fmt.Errorf("%s: %w; write 499.5, 499.5mm or 19 11/16in", side, err)
	}
	into[side] = append(into[side], read...)
	return nil
}

// Forget removes the readings of one side.
func (f *Form) Forget(q Question) {
	if q.Square == 0 {
		delete(f.measured.Long.Readings, q.Side)
		return
	}
	delete(f.measured.Squares[q.Square-1].Readings, q.Side)
}

// Read are the readings of one side so far, mm.
func (f *Form) Read(q Question) []float64 {
	if q.Square == 0 {
		return f.measured.Long.Readings[q.Side]
	}
	return f.measured.Squares[q.Square-1].Readings[q.Side]
}

// Slip says what is wrong with the readings of one side by themselves, "" for nothing.
func (f *Form) Slip(q Question) string {
	if f.Fitted() != nil {
		return "" // shown with the result of all readings
	}
	if v, text := f.measured.Slip(q.Square-1, q.Side); text != "" {
		return fmt.Sprintf("%s: %s", f.Length(v), text)
	}
	return ""
}

// UnitWord says which unit readings without one are in.
func (f *Form) UnitWord() string {
	if f.Unit == "in" {
		return "inches"
	}
	return cmp.Or(f.Unit, "mm")
}

// Graduations are the usual graduations of a ruler and a tape of a unit.
func Graduations(unit string) (ruler, tape string) {
	if unit == "in" {
		return "1/16in", "1/16in"
	}
	return "0.5mm", "1mm"
}

// Length formats a length in the form's unit.
func (f *Form) Length(mm float64) string { return inUnits(mm, f.Unit) }

func inUnits(mm float64, unit string) string {
	if unit == "in" {
		return fmt.Sprintf("%.3f in", mm/25.4)
	}
	v, _ := asRead(mm, unit, 1)
	return fmt.Sprintf("%v %s", v, cmp.Or(unit, "mm"))
}

// asRead converts a length to a unit, rounded to so many decimals of a mm or an equally fine step, and gives the
// number of decimals.
func asRead(mm float64, unit string, decimals int) (float64, int) {
	decimals += map[string]int{"cm": 1, "in": 2}[unit]
	return geom.Rounded(mm/pattern.UnitMM(unit), decimals), decimals
}

// Sides reads bottom, right, top and left at once: "500,499.5,500,499.5", or "2:500,..." for the second square.
func (f *Form) Sides(text string) error {
	return f.row(text, calibration.SquareSides[:4])
}

// Diagonals reads the rising and the falling one: "707,706.5".
func (f *Form) Diagonals(text string) error {
	return f.row(text, calibration.SquareSides[4:])
}

func (f *Form) row(text string, sides []calibration.Side) error {
	square := 1
	if no, rest, ok := strings.Cut(text, ":"); ok {
		n, err := strconv.Atoi(strings.TrimSpace(no))
		if err != nil {
			return fmt.Errorf("%q: before the colon stands the square's number", text)
		}
		square, text = n, rest
	}
	parts := strings.Split(text, ",")
	if len(parts) != len(sides) {
		return fmt.Errorf("%q: %d readings are wanted (%v), in this order", text, len(sides), sides)
	}
	for i, p := range parts {
		if err := f.Answer(square, sides[i], strings.TrimSpace(p)); err != nil {
			return err
		}
	}
	return nil
}

// Solve evaluates the readings; nothing is kept yet.
func (f *Form) Solve() (calibration.Result, error) {
	if f.Order.Paper == "" {
		return calibration.Solve(f.measured)
	}
	if err := f.Fitted(); err != nil {
		return calibration.Result{}, err
	}
	r, err := calibration.Solve(f.measured)
	if err != nil {
		return r, errors.New(printer.Replace(err.Error()))
	}
	f.aboutSheet(&r)
	return r, small(r.Correction)
}

// Keep records the readings; from then on the device's output is corrected by them.
func (f *Form) Keep(c *Calibrations, r calibration.Result, now time.Time) (Calibrated, error) {
	e := Calibrated{At: now.UTC().Truncate(time.Second), Who: f.Who, Material: f.Material, Humidity: f.Humidity,
		Note: f.Note, Plot: f.Order.No, Paper: f.Order.Paper, Measured: f.measured, Result: r}
	if e.Paper != "" {
		e.Carried = f.Order.Calibration
	}
	return c.add(e)
}
