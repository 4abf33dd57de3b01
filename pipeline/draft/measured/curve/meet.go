package curve

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// Locus is a line drawn on without end, an edge as drawn, or a circle.
type Locus struct {
	Point, Along orb.Point
	IsCircle     bool
	Centre       orb.Point
	Radius       float64
	Edge         Curve
	Name         string
}

// Meetings lists the points in which two of them meet, none where they do not.
func Meetings(a, b Locus) []orb.Point {
	switch {
	case a.Edge != nil && b.Edge != nil || a.Edge != nil && b.IsCircle || b.Edge != nil && a.IsCircle:
		return MeetingsOfEdges(a, b)
	case a.Edge != nil:
		var out []orb.Point
		for _, pl := range a.Edge.Meets(b.Point, b.Along) {
			out = append(out, a.Edge[pl.Index].At(pl.T))
		}
		return out
	case b.Edge != nil:
		return Meetings(b, a)
	case a.IsCircle && b.IsCircle:
		return geom.MeetCircles(a.Centre, a.Radius, b.Centre, b.Radius)
	case a.IsCircle:
		return geom.MeetLineCircle(b.Point, geom.Add(b.Point, b.Along), a.Centre, a.Radius)
	case b.IsCircle:
		return Meetings(b, a)
	}
	if at, _, _, ok := geom.MeetLines(a.Point, a.Along, b.Point, b.Along); ok {
		return []orb.Point{at}
	}
	return nil
}

// MeetingsOfEdges finds where an edge meets another edge or a circle: on chords of a thousandth of a
// millimetre, then by halving on the true curves.
func MeetingsOfEdges(a, b Locus) []orb.Point {
	if a.Edge == nil {
		a, b = b, a
	}
	if b.IsCircle {
		b.Edge = Curve{
			{From: geom.Add(b.Centre, orb.Point{b.Radius, 0}), To: geom.Sub(b.Centre, orb.Point{b.Radius, 0}), Centre: b.Centre, Sweep: math.Pi},
			{From: geom.Sub(b.Centre, orb.Point{b.Radius, 0}), To: geom.Add(b.Centre, orb.Point{b.Radius, 0}), Centre: b.Centre, Sweep: math.Pi},
		}
	}
	var out []orb.Point
	for _, s := range a.Edge {
		for _, t := range b.Edge {
			out = append(out, meetSegs(s, t, 0)...)
		}
	}
	var tidy []orb.Point
	for _, q := range out {
		fresh := true
		for _, o := range tidy {
			fresh = fresh && geom.Dist(o, q) > 1e-6
		}
		if fresh {
			tidy = append(tidy, q)
		}
	}
	return tidy
}

func meetSegs(s, t Segment, depth int) []orb.Point {
	bs, bt := s.box(), t.box()
	if bs.Min[0] > bt.Max[0]+1e-9 || bt.Min[0] > bs.Max[0]+1e-9 || bs.Min[1] > bt.Max[1]+1e-9 || bt.Min[1] > bs.Max[1]+1e-9 {
		return nil
	}
	if depth > 44 || bs.Max[0]-bs.Min[0]+bs.Max[1]-bs.Min[1] < 1e-8 && bt.Max[0]-bt.Min[0]+bt.Max[1]-bt.Min[1] < 1e-8 {
		return []orb.Point{s.At(0.5)}
	}
	var out []orb.Point
	for _, u := range []Segment{s.Part(0, 0.5), s.Part(0.5, 1)} {
		for _, v := range []Segment{t.Part(0, 0.5), t.Part(0.5, 1)} {
			out = append(out, meetSegs(u, v, depth+1)...)
			if len(out) > 64 {
				return out
			}
		}
	}
	return out
}

// box is a box that surely holds the stretch.
func (s Segment) box() orb.Bound {
	switch {
	case s.Cubic:
		return orb.MultiPoint{s.From, s.h1, s.h2, s.To}.Bound()
	case s.IsArc():
		grow := s.Radius() * (1 - math.Cos(math.Min(math.Abs(s.Sweep)/2, math.Pi)))
		return orb.MultiPoint{s.From, s.To}.Bound().Pad(grow)
	}
	return orb.MultiPoint{s.From, s.To}.Bound()
}
