package devices

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// Move is one straight or round move of a gantry as a reader of the bytes found it: what the
// machine will do, not what was meant. Lengths are mm, angles radians, counter-clockwise positive.
type Move struct {
	// Line counts the program's lines from 1.
	Line int
	// Rapid moves run at the machine's own speed and need not be straight.
	Rapid    bool
	From, To orb.Point
	// FromZ and ToZ are heights; 0 is the top face of the material.
	FromZ, ToZ float64
	// Arc moves run about Centre by Sweep.
	Arc    bool
	Centre orb.Point
	Sweep  float64
	// FromTurn and ToTurn are the rotary axis of a tangential knife.
	FromTurn, ToTurn float64
	// Feed is mm/min, 0 for a rapid.
	Feed float64
}

// Radius is that of an arc at its start, 0 for a straight move.
func (m Move) Radius() float64 {
	if !m.Arc {
		return 0
	}
	return geom.Dist(m.From, m.Centre)
}

// Length is the way of the pivot in space, mm.
func (m Move) Length() float64 {
	flat := geom.Dist(m.From, m.To)
	if m.Arc {
		flat = m.Radius() * math.Abs(m.Sweep)
	}
	return math.Hypot(flat, m.ToZ-m.FromZ)
}
