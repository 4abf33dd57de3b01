package pretend

import (
	"fmt"
	"math"
)

// way is the move of one line: straight, or round a centre.
type way struct {
	from, to [3]float64
	round    bool
	ccw      bool
	centre   [2]float64
	sweep    float64
}

// wayOf reads the axis words of a line; everything is taken as absolute, and the centre of an arc as
// seen from its start.
func wayOf(at [3]float64, line string) way {
	w := way{from: at, to: at}
	var middle [2]float64
	comment := false
	for i := 0; i < len(line); i++ {
		b := line[i]
		var v float64
		if b == '(' || b == ')' {
			comment = b == '('
		}
		if b == ';' {
			break
		}
		if comment || b < 'G' || b > 'Z' {
			continue
		}
		if _, err := fmt.Sscanf(line[i+1:], "%f", &v); err != nil {
			continue
		}
		switch b {
		case 'X', 'Y', 'Z':
			w.to[b-'X'] = v
		case 'I', 'J':
			middle[b-'I'] = v
		case 'G':
			if v == 2 || v == 3 {
				w.round, w.ccw = true, v == 3
			}
		}
	}
	if w.round {
		w.bend(middle)
	}
	return w
}

func (w *way) bend(middle [2]float64) {
	w.centre = [2]float64{w.from[0] + middle[0], w.from[1] + middle[1]}
	a := math.Atan2(w.from[1]-w.centre[1], w.from[0]-w.centre[0])
	b := math.Atan2(w.to[1]-w.centre[1], w.to[0]-w.centre[0])
	w.sweep = b - a
	switch {
	case w.ccw && w.sweep <= 0:
		w.sweep += 2 * math.Pi
	case !w.ccw && w.sweep >= 0:
		w.sweep -= 2 * math.Pi
	}
}

// at is the place after a share of the way.
func (w way) at(share float64) [3]float64 {
	if share >= 1 {
		return w.to
	}
	p := w.from
	for k := range p {
		p[k] += share * (w.to[k] - w.from[k])
	}
	if w.round {
		s, c := math.Sincos(share * w.sweep)
		x, y := w.from[0]-w.centre[0], w.from[1]-w.centre[1]
		p[0], p[1] = w.centre[0]+c*x-s*y, w.centre[1]+s*x+c*y
	}
	return p
}

// asFar is a line for a share of the way.
func (w way) asFar(share float64) []byte {
	p := w.at(share)
	if w.round {
		g := 2
		if w.ccw {
			g = 3
		}
		return fmt.Appendf(nil, "G%d X%.5f Y%.5f I%.5f J%.5f F600\n", g, p[0], p[1], w.centre[0]-w.from[0], w.centre[1]-w.from[1])
	}
	return fmt.Appendf(nil, "G1 X%.5f Y%.5f Z%.5f F600\n", p[0], p[1], p[2])
}

// share is how much of the line being carried out is done; place is where the tool stands.
func (c *Cutter) share() float64 {
	if whole := float64(len(c.planner[0])); whole > 0 {
		return 1 - c.left/whole
	}
	return 1
}

func (c *Cutter) place() [3]float64 {
	if !c.begun {
		return c.at
	}
	return c.way.at(c.share())
}
