package figures

import "testing"

// TestWhereEdgesDiffer: by hand. Notches stand as far from the nearer end on both edges of a seam, so their lengths differ between
// the innermost notches of either half.
func TestWhereEdgesDiffer(t *testing.T) {
	for _, c := range []struct {
		notches  []float64
		from, to float64
	}{
		{nil, 3, 267},
		{[]float64{60}, 3, 267},
		{[]float64{60, 68}, 3, 267}, // a double notch marks one place
		{[]float64{50, 100}, 100, 267},
		{[]float64{60, 68, 200}, 68, 200},
		{[]float64{60, 135, 200}, 60, 200},
		{[]float64{200, 250}, 3, 200},
	} {
		if from, to := between(c.notches, 0, 270); from != c.from || to != c.to {
			t.Errorf("%v: %v to %v, want %v to %v", c.notches, from, to, c.from, c.to)
		}
	}
}
