package testsquare

import (
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices/calibration"
)

// TestCSV reads what people and spreadsheets write, loses no reading, and reads back what WriteCSV writes.
func TestCSV(t *testing.T) {
	form := func() *Form {
		return NewForm(Order{No: 1, Plot: calibration.Plot{Width: 500, Height: 500, Places: make([]orb.Point, 1)}}, 0.5, 1, "mm")
	}
	bottom := Question{Square: 1, Side: calibration.Bottom}
	for name, c := range map[string]struct {
		text string
		want []float64
	}{
		"headings":          {"square,side,reading\n1,bottom,498.5\n1, Bottom ,499 499.5\n", []float64{498.5, 499, 499.5}},
		"no headings":       {"# measured by daylight\n1,bottom,19 11/16in\n", []float64{500.0625}},
		"byte order mark":   {"\ufeff1,bottom,498.5\n", []float64{498.5}},
		"semicolons":        {"square;side;reading\r\n1;bottom;498,5\r\n1;bottom;499\r\n", []float64{498.5, 499}},
		"left out":          {"1,bottom,\n1,bottom,500\n", []float64{500}},
		"semicolons, units": {"1;bottom;49,85cm\n", []float64{498.5}},
	} {
		f := form()
		if err := f.CSV(strings.NewReader(c.text)); err != nil || !slices.Equal(f.Read(bottom), c.want) {
			t.Errorf("%s: %v %v, want %v", name, f.Read(bottom), err, c.want)
		}
		var b strings.Builder
		again := form()
		if err := f.WriteCSV(&b); err != nil || again.CSV(strings.NewReader(b.String())) != nil || !slices.Equal(again.Read(bottom), c.want) {
			t.Errorf("%s: written and read again %v", name, again.Read(bottom))
		}
	}
	for text, want := range map[string]string{
		"x,bottom,498.5\n":           `line 1: "x" is no number of a square`,
		"1,bottom,498.5\n1,side,3\n": `line 2: there is no side "side"`,
		"2,bottom,498.5\n":           "line 1: test square 1 has no square 2, only 1 to 1",
		"0,low-line,3000\n":          "line 1: test square 1 was drawn without long lines",
		"1,bottom,498,5\n":           "line 1: a line has three fields, square,side,reading, and this one 4",
		"1,bottom,498.5.1\n":         `line 1: bottom: "498.5.1" is not a length`,
	} {
		if err := form().CSV(strings.NewReader(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %s", text, err, want)
		}
	}
}
