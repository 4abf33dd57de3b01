package look

import (
	"math"

	"tracewheel/geom"
)

// Strokes are the lines with which one pen draws a line of this form: the line itself where it is continuous, else its
// dashes. Lengths are mm. Between two corners the dashes are stretched or shrunk so that a dash ends at a free end and
// continues round a corner; a line too short for a gap is not dashed.
func (f Form) Strokes(p geom.Path) []geom.Path {
	total := p.Length()
	if len(f.Dash) == 0 || p.Segments() == 0 || total < geom.Tiny {
		return []geom.Path{p}
	}
	starts, corners := p.Starts(), []float64{}
	for i := range p.Points {
		if p.Corner(i) && (p.Closed || i > 0 && i < len(p.Points)-1) {
			corners = append(corners, starts[i])
		}
	}
	var on [][2]float64 // the dashes, from and to along the line
	switch {
	case !p.Closed:
		at := append(append([]float64{0}, corners...), total)
		for i := 1; i < len(at); i++ {
			on = f.between(on, at[i-1], at[i], i == 1, i == len(at)-1)
		}
	case len(corners) == 0:
		on = f.round(total)
	default:
		for i, from := range corners {
			to := total + corners[0]
			if i+1 < len(corners) {
				to = corners[i+1]
			}
			on = f.between(on, from, to, false, false)
		}
		if n := len(on); n > 1 && math.Abs(on[n-1][1]-total-on[0][0]) < geom.Tiny { // one dash round the first corner
			on[0][0] = on[n-1][0] - total
			on = on[:n-1]
		} else if n == 1 && on[0][1]-on[0][0] > total-geom.Tiny {
			return []geom.Path{p}
		}
	}
	out := make([]geom.Path, 0, len(on))
	for _, s := range on {
		if s[1]-s[0] > total-geom.Tiny {
			return []geom.Path{p}
		}
		from := s[0]
		if p.Closed && from < 0 {
			from += total
			s[1] += total
		}
		out = append(out, p.Sub(from, s[1]))
	}
	return out
}

// period is the length after which the dashes repeat.
func (f Form) period() float64 {
	var sum float64
	for _, d := range f.Dash {
		sum += d
	}
	return sum
}

// between adds the dashes from one corner or end to the next: it begins and ends with a dash, a whole one at a free
// end and half of one at a corner, where the other half lies beyond. A dash that begins where the last one ended
// extends it.
func (f Form) between(on [][2]float64, from, to float64, freeStart, freeEnd bool) [][2]float64 {
	first := f.Dash[0]
	head, tail := first/2, first/2
	if freeStart {
		head = first
	}
	if freeEnd {
		tail = first
	}
	add := func(a, b float64) {
		if n := len(on); n > 0 && a-on[n-1][1] < geom.Tiny {
			on[n-1][1] = b
			return
		}
		on = append(on, [2]float64{a, b})
	}
	length, ends := to-from, head+tail-first
	n := math.Round((length - ends) / f.period())
	if n < 1 {
		add(from, to)
		return on
	}
	k := length / (n*f.period() + ends)
	at := from
	add(at, at+k*head)
	at += k * head
	for i := range int(n) {
		for j, d := range f.Dash[1:] {
			if j%2 == 1 {
				add(at, at+k*d)
			}
			at += k * d
		}
		if i < int(n)-1 {
			add(at, at+k*first)
			at += k * first
		}
	}
	add(at, to)
	return on
}

// round are the dashes of a closed line without corners.
func (f Form) round(total float64) [][2]float64 {
	n := math.Round(total / f.period())
	if n < 1 {
		return [][2]float64{{0, total}}
	}
	k, at := total/(n*f.period()), 0.0
	var on [][2]float64
	for range int(n) {
		for j, d := range f.Dash {
			if j%2 == 0 {
				on = append(on, [2]float64{at, at + k*d})
			}
			at += k * d
		}
	}
	return on
}
