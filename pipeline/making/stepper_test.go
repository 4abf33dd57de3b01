package making

import (
	"cmp"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// stepper is how a pretend machine moves: in small steps of time, from rest to rest, as fast as its
// drives let it. It shares nothing with the estimates that are held against it: it reads moves as a
// reader of the bytes found them, and looks ahead only as far as it needs to brake.
type stepper struct {
	// Acceleration is mm/s2, Rapid the speed of rapids in mm/s.
	Acceleration, Rapid float64
	// Kick is the change of velocity in mm/s that the drives take at once, at a bend.
	Kick float64
	// Step is the time of one step in seconds; 0 is half a millisecond.
	Step float64
}

// seconds is how long the moves take, one run into the next without stops between.
func (s stepper) seconds(moves []devices.Move) float64 {
	dt := cmp.Or(s.Step, 0.0005)
	var at []devices.Move
	for _, m := range moves {
		if m.Length() > 0 {
			at = append(at, m)
		}
	}
	var time, done, v float64
	for i := 0; i < len(at); {
		v = math.Min(v+s.Acceleration*dt, s.allowed(at[i:], done))
		v = math.Max(v, s.Acceleration*dt/2) // nothing stands still on the way
		done += v * dt
		time += dt
		for i < len(at) && done >= at[i].Length() {
			done -= at[i].Length()
			i++
		}
	}
	return time
}

// allowed is the highest speed at which everything ahead can still be met, done mm along the first.
func (s stepper) allowed(ahead []devices.Move, done float64) float64 {
	v := s.top(ahead[0])
	way := -done
	for i, m := range ahead {
		way += m.Length()
		if way > v*v/(2*s.Acceleration) {
			break
		}
		through := 0.0
		if i+1 < len(ahead) {
			through = math.Min(s.top(ahead[i+1]), s.bend(m, ahead[i+1]))
		}
		v = math.Min(v, math.Sqrt(through*through+2*s.Acceleration*way))
	}
	return v
}

// top is the speed of a move: what was asked for, and on a circle what pulls outwards no harder than
// the drives can.
func (s stepper) top(m devices.Move) float64 {
	v := m.Feed / 60
	if m.Rapid {
		v = s.Rapid
	}
	if m.Arc {
		v = math.Min(v, math.Sqrt(s.Acceleration*m.Radius()))
	}
	return v
}

// bend is the speed at which the change of direction between two moves is no more than a kick.
func (s stepper) bend(a, b devices.Move) float64 {
	_, out := directions(a)
	in, _ := directions(b)
	dot := out[0]*in[0] + out[1]*in[1] + out[2]*in[2]
	half := math.Sqrt(math.Max(0, (1-dot)/2)) // sine of half the turn
	if half == 0 {
		return math.Inf(1)
	}
	return s.Kick / (2 * half)
}

// directions are those of a move at its start and its end.
func directions(m devices.Move) (in, out [3]float64) {
	if m.Arc {
		tangent := func(p orb.Point) [3]float64 {
			r := geom.Unit(geom.Sub(p, m.Centre))
			if m.Sweep > 0 {
				return [3]float64{-r[1], r[0], 0}
			}
			return [3]float64{r[1], -r[0], 0}
		}
		return tangent(m.From), tangent(m.To)
	}
	d := [3]float64{m.To[0] - m.From[0], m.To[1] - m.From[1], m.ToZ - m.FromZ}
	n := math.Sqrt(d[0]*d[0] + d[1]*d[1] + d[2]*d[2])
	for k := range d {
		d[k] /= n
	}
	return d, d
}
