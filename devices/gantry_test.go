package devices

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
)

// TestTrapezoidSeconds: 50 mm/s at 500 mm/s2 is reached after v^2/2A = 2.5 mm in 0.1 s, so that 5 mm
// and more take length/v + v/A, and less takes 2 sqrt(length/A).
func TestTrapezoidSeconds(t *testing.T) {
	for _, c := range []struct{ length, speed, accel, want float64 }{
		{5, 50, 500, 0.2}, {105, 50, 500, 2.2}, {1.25, 50, 500, 0.1}, {100, 50, 0, 2}, {0, 50, 500, 0}, {10, 0, 500, 0},
	} {
		if got := TrapezoidSeconds(c.length, c.speed, c.accel); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%v mm at %v mm/s and %v mm/s2: %v s, want %v", c.length, c.speed, c.accel, got, c.want)
		}
	}
}

func TestMoveLength(t *testing.T) {
	half := Move{Arc: true, From: orb.Point{2, 0}, To: orb.Point{-2, 0}, Sweep: -math.Pi}
	if got := half.Length(); math.Abs(got-2*math.Pi) > 1e-12 {
		t.Errorf("half circle of radius 2: %v", got)
	}
	if got := (Move{To: orb.Point{3, 0}, ToZ: 4}).Length(); got != 5 {
		t.Errorf("3 across and 4 up: %v", got)
	}
}
