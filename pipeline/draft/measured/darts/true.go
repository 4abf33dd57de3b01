package darts

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// closedPoint is a corner that was left where a dart was closed: its name and its angle.
type closedPoint struct {
	Sentence *sentence.Sentence
	What     string
	Degrees  float64
	At       orb.Point
}

// trueDarts lets the edge beside a dart run on across it when it is closed, where that is asked for;
// both sides are turned by as much. By how much is told in the figures.
func (s *Ring) trueDarts() {
	for m, o := range s.Mouths {
		a, b, ok := s.Legs(m)
		if !ok || !o.dart.trued || o.Fullness != "" {
			continue
		}
		i, k, j := s.mouthAt(m)
		p := o.End(a, b)
		o.made = true // drawn or not, the cap follows the trued edge
		s.trueAt(o.dart, i, k-1, i, j, [2]orb.Point{geom.Unit(geom.Sub(p, a)), geom.Unit(geom.Sub(p, b))})
	}
	for _, c := range s.Closed {
		if i, k, ok := s.stillBeside(c); ok && c.dart.trued {
			way := geom.Left(s.Edges[k].Curve[0].Dir(0)) // either side will do: both legs are one
			s.trueAt(c.dart, i, len(s.Edges[i].Curve)-1, k, 0, [2]orb.Point{way, way})
		}
	}
}

// stillBeside tells whether the two edges that met when a dart was closed still do.
func (s *Ring) stillBeside(c closing) (i, k int, ok bool) {
	i, k = curve.IndexOf(s.Edges, c.before), curve.IndexOf(s.Edges, c.after)
	return i, k, i >= 0 && k == (i+1)%len(s.Edges) && s.Edges[k].Curve[0].Mouth == 0 && s.Edges[i].Curve[len(s.Edges[i].Curve)-1].Mouth == 0
}

// trueAt trues the stretch that ends at a dart and the one that begins behind it. Outside their edges,
// they are the last one of the edge before and the first one of the next.
func (s *Ring) trueAt(t *drawnDart, pi, pk, ni, nk int, legs [2]orb.Point) {
	n := len(s.Edges)
	if pk < 0 {
		pi = (pi + n - 1) % n
		pk = len(s.Edges[pi].Curve) - 1
	}
	if nk == len(s.Edges[ni].Curve) {
		ni, nk = (ni+1)%n, 0
	}
	one, two := s.Edges[pi].Curve[pk].Reversed(), s.Edges[ni].Curve[nk]
	turned := curve.TrueAcross(&one, &two, [2]orb.Point{one.From, two.From}, legs)
	s.Edges[pi].Curve = s.Edges[pi].Curve.With(pk, one.Reversed())
	s.Edges[ni].Curve = s.Edges[ni].Curve.With(nk, two) // often one and the same edge
	s.Drawing.Scope.Context.Truings = append(s.Drawing.Scope.Context.Truings, tree.Truing{At: t.name + " of " + s.Drawing.Name + " at the " + s.Edges[ni].Name, Carried: t.carried, Turned: turned})
}

// closedPoints lists the corners that are left where darts were closed.
func (s *Ring) closedPoints() []closedPoint {
	var out []closedPoint
	for _, c := range s.Closed {
		i, k, ok := s.stillBeside(c)
		if !ok {
			continue
		}
		a, b := s.Edges[i].Curve, s.Edges[k].Curve
		in, on := a[len(a)-1].Dir(1), b[0].Dir(0)
		turn := math.Atan2(geom.Cross(in, on), geom.Dot(in, on)) * 180 / math.Pi * curve.Orientation(s.Edges)
		out = append(out, closedPoint{c.dart.Sentence, "the " + c.after + " where the " + c.dart.name + " is closed in", 180 - turn, b.Start()})
	}
	return out
}
