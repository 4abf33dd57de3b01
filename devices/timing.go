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
	defaultPenSpeed     = 381.0  // mm/s
	defaultTravelSpeed  = 500.0  // mm/s
	defaultAcceleration = 4900.0 // mm/s2
	defaultLiftSeconds  = 0.1
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
		Speed:        orElse(s.Speed, defaultPenSpeed),
		Travel:       orElse(p.Pen.TravelSpeed, defaultTravelSpeed),
		Acceleration: orElse(s.Acceleration, defaultAcceleration),
		Lift:         orElse(p.Pen.LiftSeconds, defaultLiftSeconds),
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
	// at holds the speeds at the vertices first, and then the times.
	at = append(at, 0)
	for i := 1; i+1 < len(pts); i++ {
		at = append(at, t.bend(pts[i-1], pts[i], pts[i+1]))
	}
	if len(pts) > 1 {
		at = append(at, 0)
	}
	for i := len(pts) - 2; i > 0; i-- {
		d := geom.Dist(pts[i], pts[i+1])
		at[i] = min(at[i], math.Sqrt(at[i+1]*at[i+1]+2*t.Acceleration*d))
	}
	before, now := 0.0, 0.0
	for i := 1; i < len(pts); i++ {
		d := geom.Dist(pts[i-1], pts[i])
		speed := min(at[i], math.Sqrt(before*before+2*t.Acceleration*d))
		now += ramp(d, before, speed, t.Speed, t.Acceleration)
		at[i], before = now, speed
	}
	return at
}

// bend is the speed that a vertex can be passed with: that at which the change of velocity takes no
// longer than jerkSeconds.
func (t Timing) bend(a, b, c orb.Point) float64 {
	u, v := geom.Sub(b, a), geom.Sub(c, b)
	size := math.Sqrt(geom.Dot(u, u) * geom.Dot(v, v))
	if size == 0 {
		return t.Speed
	}
	change := 2 - 2*geom.Dot(u, v)/size // squared, for two unit vectors
	can := t.Acceleration * jerkSeconds
	if change*t.Speed*t.Speed <= can*can {
		return t.Speed
	}
	return can / math.Sqrt(change)
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
