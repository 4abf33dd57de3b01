package pattern

import (
	"math"
	"slices"
	"testing"
)

// TestParseLengths: exact, 25.4 mm to the inch; 25 3/8 in is 644.525 mm (a handbook figure). A fraction
// belongs to the whole number before it, in every way of writing one that is met on a sheet.
func TestParseLengths(t *testing.T) {
	for _, c := range []struct {
		text string
		unit float64
		want []float64
	}{
		{"499.5 500", 1, []float64{499.5, 500}},
		{"19 11/16", 25.4, []float64{500.0625}},
		{"19-11/16 19 3/4 19.7", 25.4, []float64{500.0625, 501.65, 500.38}},
		{"15 11/16in 15 3/4 in 398.5 mm", 1, []float64{398.4625, 400.05, 398.5}},
		{"25⅜ 5½\"", 25.4, []float64{644.525, 139.7}},
		{"5 1/2", 25.4, []float64{139.7}},
		{"5.12", 25.4, []float64{130.048}},
		{"1.5yd 2 1/4 yd", 1, []float64{1371.6, 2057.4}}, // 1 yd is 0.9144 m exactly (international yard, 1959)
		{"4m 50cm .5mm 1/2in", 1, []float64{4000, 500, 0.5, 12.7}},
		{"  ", 1, nil},
	} {
		got, err := ParseLengths(c.text, c.unit)
		if err != nil || !slices.EqualFunc(got, c.want, func(a, b float64) bool { return math.Abs(a-b) < 1e-9 }) {
			t.Errorf("%q: %v %v, want %v", c.text, got, err, c.want)
		}
	}
	for _, text := range []string{"x", "-3", "1/0", "in", "499,5", "1e3", "0x10", "1_0", "inf", "NaN", "3 -4", "500mmm"} {
		if got, err := ParseLengths(text, 1); err == nil {
			t.Errorf("%q is %v", text, got)
		}
	}
}
