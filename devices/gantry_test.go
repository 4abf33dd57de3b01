package devices_test

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/devices"
)

// TestChain: 50 mm/s at 500 mm/s2 is reached after v^2/2A = 2.5 mm in 0.1 s, so that 5 mm and more
// take length/v + v/A, and less takes 2 sqrt(length/A). Straight on nothing slows down; back on itself
// a gantry all but stops; round a circle it keeps v^2/R <= A.
func TestChain(t *testing.T) {
	east, west := [3]float64{1, 0, 0}, [3]float64{-1, 0, 0}
	leg := func(length, speed float64, dir [3]float64) devices.Leg {
		return devices.Leg{Length: length, Speed: speed, In: dir, Out: dir}
	}
	stop := leg(50, 50, east)
	stop.Stop = true
	pause := leg(50, 50, east)
	pause.Pause = 3
	for _, c := range []struct {
		name  string
		legs  []devices.Leg
		accel float64
		want  float64
	}{
		{"just reached", []devices.Leg{leg(5, 50, east)}, 500, 0.2},
		{"held", []devices.Leg{leg(105, 50, east)}, 500, 2.2},
		{"never reached", []devices.Leg{leg(1.25, 50, east)}, 500, 0.1},
		{"no acceleration", []devices.Leg{leg(100, 50, east)}, 0, 2},
		{"no length", []devices.Leg{leg(0, 50, east)}, 500, 0},
		{"no speed", []devices.Leg{leg(10, 0, east)}, 500, 0},
		{"in parts", []devices.Leg{leg(50, 50, east), leg(1, 50, east), {}, leg(54, 50, east)}, 500, 2.2},
		{"with a stop", []devices.Leg{leg(50, 50, east), stop}, 500, 2.2},
		{"with a pause", []devices.Leg{leg(50, 50, east), pause}, 500, 5.2},
		{"slower last", []devices.Leg{leg(100, 50, east), leg(100, 10, east)}, 500, 0.1 + 0.08 + (100-2.5-2.4)/50 + 0.02 + (100-0.1)/10},
		// 1 mm/s of kick a side at a turn on the spot, by 5 ms at 500 mm/s2.
		{"back", []devices.Leg{leg(105, 50, east), leg(105, 50, west)}, 500, 4.4 - 2*(1.25/500-1.25*1.25/1000/50)},
		{"round", []devices.Leg{{Length: 1000, Speed: 50, Radius: 0.2}}, 500, 1000/10. + 10/500.},
	} {
		sum := 0.0
		for _, s := range devices.Chain(c.legs, c.accel) {
			sum += s
		}
		if math.Abs(sum-c.want) > 1e-9 {
			t.Errorf("%s: %v s, want %v", c.name, sum, c.want)
		}
	}
}

func TestMoveLength(t *testing.T) {
	half := devices.Move{Arc: true, From: orb.Point{2, 0}, To: orb.Point{-2, 0}, Sweep: -math.Pi}
	if got := half.Length(); math.Abs(got-2*math.Pi) > 1e-12 {
		t.Errorf("half circle of radius 2: %v", got)
	}
	if got := (devices.Move{To: orb.Point{3, 0}, ToZ: 4}).Length(); got != 5 {
		t.Errorf("3 across and 4 up: %v", got)
	}
}
