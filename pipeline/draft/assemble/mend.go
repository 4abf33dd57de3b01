package assemble

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// mend finds how two ends that do not agree can be brought together: cut back to where the lines
// cross or touch near their ends, else bridged with a straight line where the gap is small.
func (m *matcher) mend(p, q int) (jp, jq joint, ok bool) {
	mid := geom.Lerp(m.at[p], m.at[q], 0.5)
	if at, tp, tq, found := m.overrun(p, q); found {
		size := math.Max(tp, tq)
		return joint{at: at, trim: tp, size: size, mid: mid}, joint{at: at, trim: tq, size: size, mid: mid}, true
	}
	d := geom.Dist(m.at[p], m.at[q])
	if d > geom.BridgeTol {
		return jp, jq, false
	}
	j := joint{bridged: true, size: d, mid: mid}
	return j, j, true
}

// overrun is the place at which two lines meet before their ends, with what is to be cut off each.
func (m *matcher) overrun(p, q int) (at orb.Point, tp, tq float64, ok bool) {
	a, b := m.tail(p), m.tail(q)
	best := math.Inf(1)
	for _, s := range a.pieces() {
		for _, t := range b.pieces() {
			x, u, v, meets := geom.MeetLines(s.a, geom.Sub(s.b, s.a), t.a, geom.Sub(t.b, t.a))
			if !meets || u < 0 || u > 1 || v < 0 || v > 1 {
				continue
			}
			cp, cq := s.run+u*geom.Dist(s.a, s.b), t.run+v*geom.Dist(t.a, t.b)
			if cp+cq < best {
				best, at, tp, tq, ok = cp+cq, x, cp, cq, true
			}
		}
	}
	if ok {
		return at, tp, tq, true
	}
	onP, onQ := geom.Path(a).Nearest(m.at[q]), geom.Path(b).Nearest(m.at[p])
	touchesP := onP.Dist <= geom.CloseTol && onP.S > geom.CloseTol
	touchesQ := onQ.Dist <= geom.CloseTol && onQ.S > geom.CloseTol
	switch {
	case touchesP && touchesQ: // they run along each other
		d := geom.Dist(m.at[p], m.at[q])
		return geom.Lerp(m.at[p], m.at[q], 0.5), d / 2, d / 2, true
	case touchesP:
		return m.at[q], onP.S, 0, true
	case touchesQ:
		return m.at[p], 0, onQ.S, true
	}
	return at, 0, 0, false
}

// tailPath is the last stretch of a line, running from its end inward.
type tailPath geom.Path

// tail takes as much of the line as may be trimmed, but never more than half of it.
func (m *matcher) tail(e int) tailPath {
	line := m.lines[e/2]
	reach := math.Min(geom.BridgeTol+geom.CloseTol, m.own[e/2]/2)
	n := len(line.Points)
	t := tailPath{Points: []orb.Point{m.at[e]}}
	var run float64
	for k := 1; k < n; k++ {
		i := k
		if e%2 == 1 {
			i = n - 1 - k
		}
		last := t.Points[len(t.Points)-1]
		l := geom.Dist(last, line.Points[i])
		if run+l >= reach {
			if l > 0 {
				t.Points = append(t.Points, geom.Lerp(last, line.Points[i], (reach-run)/l))
			}
			break
		}
		run += l
		t.Points = append(t.Points, line.Points[i])
	}
	return t
}

type tailPiece struct {
	a, b orb.Point
	run  float64 // mm from the end to a
}

func (t tailPath) pieces() []tailPiece {
	var out []tailPiece
	var run float64
	for i := 0; i+1 < len(t.Points); i++ {
		a, b := t.Points[i], t.Points[i+1]
		out = append(out, tailPiece{a, b, run})
		run += geom.Dist(a, b)
	}
	return out
}
