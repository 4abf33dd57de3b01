package calibration

import (
	"math"
	"testing"

	"tracewheel/devices"
	"tracewheel/geom"
)

// TestTurned: a page a quarter turn on its paper, either way, has the lengths and angles that its correction undoes.
// The rotation is geom's; lengths and angles are compared by the product of the map with its transpose, which does not
// depend on a rotation of the whole.
func TestTurned(t *testing.T) {
	gram := func(m geom.Affine) [3]float64 {
		return [3]float64{m.A*m.A + m.B*m.B, m.A*m.C + m.B*m.D, m.C*m.C + m.D*m.D}
	}
	for _, c := range []devices.Correction{{ScaleX: 1.004, ScaleY: 0.993}, {ScaleX: 0.99, ScaleY: 1.01, Skew: 0.004}, {ScaleX: 1, ScaleY: 1, Skew: -0.01}, {}} {
		upright, turned := gram(Drawn(c)), gram(Drawn(Turned(c)))
		for _, quarter := range []float64{math.Pi / 2, -math.Pi / 2} {
			r := geom.Rotate(quarter)
			back, _ := r.Inverse()
			want := gram(r.After(Drawn(c)).After(back))
			for i := range want {
				if math.Abs(turned[i]-want[i]) > 1e-12 {
					t.Errorf("%+v turned: %v, and the geometry says %v", c, turned, want)
				}
			}
		}
		if c.ScaleX != c.ScaleY && upright == turned {
			t.Errorf("%+v is not turned", c)
		}
	}
}
