package pipeline

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"tracewheel/devices/calibration"
)

// SquareForm is what is asked of a technician, and the answers so far. Lengths are mm inside; Inches
// says in what they are written.
type SquareForm struct {
	Order  SquareOrder
	Inches bool
	Ruler  float64

	Who, Material, Humidity, Note string

	measured calibration.Measured
}

// NewSquareForm is the form for a test square that was drawn. tape is the graduation of what the long
// lines are measured with, 0 for the ruler's.
func NewSquareForm(o SquareOrder, ruler, tape float64, inches bool) *SquareForm {
	f := &SquareForm{Order: o, Inches: inches, Ruler: ruler}
	f.measured = calibration.Measured{Graduation: ruler, InForce: o.InForce}
	for _, at := range o.Places {
		f.measured.Squares = append(f.measured.Squares, calibration.Square{Width: o.Width, Height: o.Height, At: at,
			Readings: map[calibration.Side][]float64{}})
	}
	if o.Long > 0 {
		if tape == 0 {
			tape = ruler
		}
		f.measured.Long = &calibration.LongLine{Length: o.Long, Apart: o.LongApart, Graduation: tape,
			Readings: map[calibration.Side][]float64{}}
	}
	return f
}

// Question is one thing to be measured: Square counts from 1, 0 is the long lines.
type Question struct {
	Square int
	Side   calibration.Side
	// Nominal is what it ought to be, mm.
	Nominal float64
}

// Questions are all that the form asks, in the order of walking round with a ruler.
func (f *SquareForm) Questions() []Question {
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

// Answer takes the readings of one side as written: "499.5", or several, "499.5 500". No word is no
// reading.
func (f *SquareForm) Answer(square int, side calibration.Side, text string) error {
	into := map[calibration.Side][]float64(nil)
	switch {
	case square >= 1 && square <= len(f.measured.Squares) && slices.Contains(calibration.SquareSides, side):
		into = f.measured.Squares[square-1].Readings
	case square == 0 && f.measured.Long != nil && slices.Contains(calibration.LongSides, side):
		into = f.measured.Long.Readings
	default:
		return fmt.Errorf("test square %d has no side %q of square %d", f.Order.No, side, square)
	}
	for _, word := range strings.Fields(text) {
		v, err := ParseLength(word, f.Inches)
		if err != nil {
			return fmt.Errorf("%s: %w", side, err)
		}
		into[side] = append(into[side], v)
	}
	return nil
}

// Sides takes bottom, right, top and left at once: "500,499.5,500,499.5", or "2:500,..." for the
// second square.
func (f *SquareForm) Sides(text string) error {
	return f.row(text, calibration.SquareSides[:4])
}

// Diagonals takes the rising and the falling one: "707,706.5".
func (f *SquareForm) Diagonals(text string) error {
	return f.row(text, calibration.SquareSides[4:])
}

func (f *SquareForm) row(text string, sides []calibration.Side) error {
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

// CSV takes lines of square, side, reading. A first line of headings and lines that begin with # are
// passed over. All faults are told at once.
func (f *SquareForm) CSV(r io.Reader) error {
	c := csv.NewReader(r)
	c.Comment, c.FieldsPerRecord, c.TrimLeadingSpace = '#', 3, true
	var errs []error
	for {
		rec, err := c.Read()
		if errors.Is(err, io.EOF) {
			return errors.Join(errs...)
		}
		if err != nil {
			return errors.Join(append(errs, err)...)
		}
		line, _ := c.FieldPos(0)
		square, err := strconv.Atoi(strings.TrimSpace(rec[0]))
		if err != nil {
			if line == 1 {
				continue
			}
			errs = append(errs, fmt.Errorf("line %d: %q is no number of a square", line, rec[0]))
			continue
		}
		if err := f.Answer(square, calibration.Side(strings.ToLower(strings.TrimSpace(rec[1]))), rec[2]); err != nil {
			errs = append(errs, fmt.Errorf("line %d: %w", line, err))
		}
	}
}

// Solve says what the readings mean; nothing is kept yet.
func (f *SquareForm) Solve() (calibration.Result, error) { return calibration.Solve(f.measured) }

// Keep records the readings; from then on the device's output is corrected by them.
func (f *SquareForm) Keep(c *Calibrations, r calibration.Result, now time.Time) (Calibrated, error) {
	return c.add(Calibrated{At: now.UTC().Truncate(time.Second), Who: f.Who, Material: f.Material, Humidity: f.Humidity,
		Note: f.Note, Plot: f.Order.No, Measured: f.measured, Result: r})
}

// KeepBlade records the best offset of a ladder, mm.
func (f *SquareForm) KeepBlade(c *Calibrations, offset float64, now time.Time) (Calibrated, error) {
	if !(offset > 0) || offset > 20 {
		return Calibrated{}, fmt.Errorf("a blade offset of %v mm cannot be", offset)
	}
	return c.add(Calibrated{At: now.UTC().Truncate(time.Second), Who: f.Who, Material: f.Material, Note: f.Note,
		Plot: f.Order.No, Blade: &offset})
}

// ParseLength reads a length as people write it into mm: 500, 500mm, 50cm, 19.7in, 19 11/16 in or
// 19-11/16. A bare number is mm, or inches where inches says so.
func ParseLength(text string, inches bool) (float64, error) {
	s := strings.TrimSpace(strings.ToLower(text))
	per := 1.0
	if inches {
		per = 25.4
	}
	for _, u := range []struct {
		word string
		mm   float64
	}{{"mm", 1}, {"cm", 10}, {"in", 25.4}, {`"`, 25.4}, {"m", 1000}} {
		if rest, ok := strings.CutSuffix(s, u.word); ok {
			s, per = strings.TrimSpace(rest), u.mm
			break
		}
	}
	sum := 0.0
	for _, part := range strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '-' }) {
		a, b, frac := strings.Cut(part, "/")
		v, err := strconv.ParseFloat(a, 64)
		if frac && err == nil {
			var d float64
			if d, err = strconv.ParseFloat(b, 64); err == nil {
				v /= d
			}
		}
		if err != nil {
			return 0, fmt.Errorf("%q is no length; write 499.5, 499.5mm or 19-11/16in", text)
		}
		sum += v
	}
	if !(sum > 0) || math.IsInf(sum, 0) || strings.HasPrefix(s, "-") {
		return 0, fmt.Errorf("%q is no length; write 499.5, 499.5mm or 19-11/16in", text)
	}
	return sum * per, nil
}
