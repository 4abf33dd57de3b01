package sending

import "time"

// pace measures how long the blocks of a sending really take against what was worked out for them. What is answered counts;
// of a device that answers nothing, what is sent.
type pace struct {
	now  func() time.Time // nil measures nothing
	last time.Time
	// stood is true where a person or the device held it when it was looked at last.
	stood bool
	// gone is how many seconds it ran, done how many the blocks that were made meanwhile were to take.
	gone, done float64
}

// The measure counts little in the first seconds, in which a device's buffer takes blocks faster than they are made. A pace
// beyond the bounds is not believed.
const (
	paceFrom    = 10.0
	paceSlowest = 10.0
	paceFastest = 0.01
)

// look takes a moment of the sending: the seconds of the blocks that are made since the last one, and whether it stands.
func (p *pace) look(made float64, stands bool) {
	if p.now == nil {
		return
	}
	now := p.now()
	if !p.last.IsZero() && !p.stood && !stands {
		p.gone += now.Sub(p.last).Seconds()
	}
	p.done += made
	p.last, p.stood = now, stands
}

// ratio is by how much what is left takes longer than was worked out.
func (p *pace) ratio() float64 {
	return min(max((p.gone+paceFrom)/(p.done+paceFrom), paceFastest), paceSlowest)
}
