package testsquare

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"tracewheel/devices/calibration"
)

// csvLimit bounds the size of a sheet of readings, bytes.
const csvLimit = 1 << 20

// CSV reads lines of square, side, reading, separated by commas, or by semicolons as spreadsheets do where numbers
// have a decimal comma. A first line of headings and lines that begin with # are skipped. All faults are reported at
// once.
func (f *Form) CSV(r io.Reader) error {
	text, err := io.ReadAll(io.LimitReader(r, csvLimit))
	if err != nil {
		return err
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	c := csv.NewReader(bytes.NewReader(text))
	c.Comment, c.FieldsPerRecord, c.TrimLeadingSpace = '#', 3, true
	if first, _, _ := bytes.Cut(text, []byte("\n")); bytes.Count(first, []byte(";")) >= 2 {
		c.Comma = ';'
	}
	var errs []error
	for n := 0; ; n++ {
		rec, err := c.Read()
		if errors.Is(err, io.EOF) {
			return errors.Join(errs...)
		}
		if errors.Is(err, csv.ErrFieldCount) {
			line, _ := c.FieldPos(0)
			errs = append(errs, fmt.Errorf("line %d: a line has three fields, square,side,reading, and this one %d", line, len(rec)))
			continue
		}
		if err != nil {
			return errors.Join(append(errs, err)...)
		}
		line, _ := c.FieldPos(0)
		if c.Comma == ';' {
			rec[2] = strings.ReplaceAll(rec[2], ",", ".")
		}
		side := calibration.Side(strings.ToLower(strings.TrimSpace(rec[1])))
		square, err := strconv.Atoi(strings.TrimSpace(rec[0]))
		if err != nil {
			if n > 0 || slices.Contains(calibration.SquareSides, side) || slices.Contains(calibration.LongSides, side) {
				errs = append(errs, fmt.Errorf("line %d: %q is no number of a square", line, rec[0]))
			}
			continue
		}
		if err := f.Answer(square, side, rec[2]); err != nil {
			errs = append(errs, fmt.Errorf("line %d: %w", line, err))
		}
	}
}

// WriteCSV writes the readings in the form that CSV reads.
func (f *Form) WriteCSV(w io.Writer) error {
	var b strings.Builder
	b.WriteString("square,side,reading\n")
	for _, q := range f.Questions() {
		for _, v := range f.Read(q) {
			fmt.Fprintf(&b, "%d,%s,%smm\n", q.Square, q.Side, strconv.FormatFloat(math.Round(1e4*v)/1e4, 'f', -1, 64))
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}
