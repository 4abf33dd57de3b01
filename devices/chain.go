package devices

import (
	"math"
	"slices"
)

// Leg is one straight or round stretch that a gantry runs along, for estimates.
type Leg struct {
	// Length is mm, Speed what is asked for in mm/s.
	Length, Speed float64
	// In and Out are unit vectors along the way at its start and at its end.
	In, Out [3]float64
	// Radius is that of a round stretch, mm; 0 is straight.
	Radius float64
	// Pause is a stand-still in seconds before the leg; with one the machine stops.
	Pause float64
	// Stop is a leg at whose start the machine stands still anyway.
	Stop bool
}

// Chain gives the seconds of each leg of a gantry that looks ahead: it stands at the first and after
// the last, speeds up and slows down by accel (mm/s2), passes a bend as fast as the change of velocity
// there takes no longer than jerkSeconds, and runs round as fast as accel holds it on the circle. With
// accel 0 every leg runs at its speed. Legs without a length cost their pause only.
func Chain(legs []Leg, accel float64) []float64 {
	times := make([]float64, len(legs))
	var run []int // legs with a length
	for i, l := range legs {
		times[i] = l.Pause
		if l.Length > 0 && l.Speed > 0 {
			run = append(run, i)
		}
	}
	if accel <= 0 {
		for _, i := range run {
			times[i] += legs[i].Length / legs[i].Speed
		}
		return times
	}
	entry := make([]float64, len(run)+1) // speed at the start of each, 0 at both ends
	for k := 1; k < len(run); k++ {
		if !stopsBetween(legs, run[k-1], run[k]) {
			entry[k] = legs[run[k-1]].into(legs[run[k]], accel)
		}
	}
	for k := len(run) - 1; k > 0; k-- {
		entry[k] = min(entry[k], math.Sqrt(entry[k+1]*entry[k+1]+2*accel*legs[run[k]].Length))
	}
	for k, i := range run {
		l := legs[i]
		entry[k+1] = min(entry[k+1], math.Sqrt(entry[k]*entry[k]+2*accel*l.Length))
		times[i] += ramp(l.Length, entry[k], entry[k+1], l.top(accel), accel)
	}
	return times
}

// stopsBetween tells whether a gantry comes to rest somewhere after leg i and before leg j moves.
func stopsBetween(legs []Leg, i, j int) bool {
	return slices.ContainsFunc(legs[i+1:j+1], func(l Leg) bool { return l.Stop || l.Pause > 0 })
}

// top is the speed along a leg.
func (l Leg) top(accel float64) float64 {
	if l.Radius > 0 {
		return min(l.Speed, math.Sqrt(accel*l.Radius))
	}
	return l.Speed
}

// into is the speed with which leg l may run into the next.
func (l Leg) into(next Leg, accel float64) float64 {
	v := min(l.top(accel), next.top(accel))
	var change float64
	for k := range l.Out {
		d := next.In[k] - l.Out[k]
		change += d * d
	}
	can := accel * jerkSeconds
	if change*v*v <= can*can {
		return v
	}
	return can / math.Sqrt(change)
}
