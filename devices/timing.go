package devices

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// What a pen plotter does when its profile does not say. The speed is the 7470A's greatest and the
// acceleration the half g that it uses once a speed was set (its programming manual, 3-3); travel
// and lift are common practice.
const (
	DefaultPenSpeed     = 381.0  // mm/s
	DefaultTravelSpeed  = 500.0  // mm/s
	DefaultAcceleration = 4900.0 // mm/s2
	DefaultLiftSeconds  = 0.1
)

// jerkSeconds is how long a drive may take for a sudden change of velocity at full acceleration
// before it has to slow down ahead of a bend; common practice.
const jerkSeconds = 0.005

// Timing estimates how long moves take. All numbers must be positive.
type Timing struct {
	Speed, Travel float64 // mm/s, tool down and up
	Acceleration  float64 // mm/s2
	Lift          float64 // seconds for one raising and lowering
}

// PenTiming is what the profile says of one pen, with the defaults above for what it leaves out.
func (p Profile) PenTiming(pen int) Timing {
	s := p.Pen.Setting(pen)
	return Timing{
		Speed:        orElse(s.Speed, DefaultPenSpeed),
		Travel:       orElse(p.Pen.TravelSpeed, DefaultTravelSpeed),
		Acceleration: orElse(s.Acceleration, DefaultAcceleration),
		Lift:         orElse(p.Pen.LiftSeconds, DefaultLiftSeconds),
	}
}

func orElse(v, fallback float64) float64 {
	if v > 0 {
		return v
	}
	return fallback
}

// Move is the time for a travel of d mm from rest to rest, without the lift.
func (t Timing) Move(d float64) float64 { return ramp(d, 0, 0, t.Travel, t.Acceleration) }

// Draw gives for every vertex the time in seconds at which the tool reaches it, from rest at the
// first to rest at the last. On the way it slows down for bends as far as the change of velocity
// needs, and speeds up again as the acceleration allows. at is filled and returned; it may be nil.
func (t Timing) Draw(pts []orb.Point, at []float64) []float64 {
	at = at[:0]
	if len(pts) == 0 {
		return at
	}
	speed := make([]float64, len(pts))
	for i := 1; i+1 < len(pts); i++ {
		speed[i] = t.bend(pts[i-1], pts[i], pts[i+1])
	}
	for i := len(pts) - 2; i > 0; i-- {
		d := geom.Dist(pts[i], pts[i+1])
		speed[i] = min(speed[i], math.Sqrt(speed[i+1]*speed[i+1]+2*t.Acceleration*d))
	}
	at = append(at, 0)
	for i := 1; i < len(pts); i++ {
		d := geom.Dist(pts[i-1], pts[i])
		speed[i] = min(speed[i], math.Sqrt(speed[i-1]*speed[i-1]+2*t.Acceleration*d))
		at = append(at, at[i-1]+ramp(d, speed[i-1], speed[i], t.Speed, t.Acceleration))
	}
	return at
}

// bend is the speed that a vertex can be passed with.
func (t Timing) bend(a, b, c orb.Point) float64 {
	u, v := geom.Unit(geom.Sub(b, a)), geom.Unit(geom.Sub(c, b))
	change := geom.Norm(geom.Sub(v, u))
	if change*t.Speed <= t.Acceleration*jerkSeconds {
		return t.Speed
	}
	return t.Acceleration * jerkSeconds / change
}

// ramp is the time for d mm between the speeds v0 and v1 with a top speed in between.
func ramp(d, v0, v1, top, a float64) float64 {
	if d <= 0 {
		return 0
	}
	peak := math.Sqrt((2*a*d + v0*v0 + v1*v1) / 2)
	if peak <= top {
		return (2*peak - v0 - v1) / a
	}
	steady := d - (2*top*top-v0*v0-v1*v1)/(2*a)
	return (2*top-v0-v1)/a + steady/top
}
