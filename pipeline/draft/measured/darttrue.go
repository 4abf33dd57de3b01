package measured

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// closedPoint is a corner that was left where a dart was closed: what it is called, and its angle.
type closedPoint struct {
	told *dartTold
	what string
	deg  float64
	at   orb.Point
}

// trueDarts lets the edge beside a dart run on across it when it is closed, where that is asked for;
// both sides are turned by as much. By how much is told in the figures.
func (s *shaping) trueDarts() {
	for m, o := range s.mouths {
		a, b, ok := s.legs(m)
		if !ok || !o.told.trued || o.as != "" {
			continue
		}
		i, k, j := s.mouthAt(m)
		p := o.end(a, b)
		o.made = true // drawn or not, the cap follows the trued edge
		s.trueAt(o.told, i, k-1, i, j, [2]orb.Point{geom.Unit(geom.Sub(p, a)), geom.Unit(geom.Sub(p, b))})
	}
	for _, c := range s.closed {
		if i, k, ok := s.stillBeside(c); ok && c.told.trued {
			way := geom.Left(s.edges[k].c[0].dir(0)) // either side will do: both legs are one
			s.trueAt(c.told, i, len(s.edges[i].c)-1, k, 0, [2]orb.Point{way, way})
		}
	}
}

// stillBeside tells whether the two edges that met when a dart was closed still do.
func (s *shaping) stillBeside(c closing) (i, k int, ok bool) {
	i, k = indexOf(s.edges, c.before), indexOf(s.edges, c.after)
	return i, k, i >= 0 && k == (i+1)%len(s.edges) && s.edges[k].c[0].mouth == 0 && s.edges[i].c[len(s.edges[i].c)-1].mouth == 0
}

// trueAt trues the stretch that ends at a dart and the one that begins behind it. Outside their edges,
// they are the last one of the edge before and the first one of the next.
func (s *shaping) trueAt(t *dartTold, pi, pk, ni, nk int, legs [2]orb.Point) {
	n := len(s.edges)
	if pk < 0 {
		pi = (pi + n - 1) % n
		pk = len(s.edges[pi].c) - 1
	}
	if nk == len(s.edges[ni].c) {
		ni, nk = (ni+1)%n, 0
	}
	one, two := s.edges[pi].c[pk].reversed(), s.edges[ni].c[nk]
	turned := trueAcross(&one, &two, [2]orb.Point{one.a, two.a}, legs)
	s.edges[pi].c = s.edges[pi].c.with(pk, one.reversed())
	s.edges[ni].c = s.edges[ni].c.with(nk, two) // often one and the same edge
	s.d.sc.eng.truings = append(s.d.sc.eng.truings, truing{at: t.name + " of " + s.d.name + " at the " + s.edges[ni].name, turned: turned})
}

// closedPoints lists the corners that are left where darts were closed.
func (s *shaping) closedPoints() []closedPoint {
	var out []closedPoint
	for _, c := range s.closed {
		i, k, ok := s.stillBeside(c)
		if !ok {
			continue
		}
		a, b := s.edges[i].c, s.edges[k].c
		in, on := a[len(a)-1].dir(1), b[0].dir(0)
		turn := math.Atan2(geom.Cross(in, on), geom.Dot(in, on)) * 180 / math.Pi * ccw(s.edges)
		out = append(out, closedPoint{c.told, "the " + c.after + " where the " + c.told.name + " is closed in", 180 - turn, b.start()})
	}
	return out
}
