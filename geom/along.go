package geom

import (
	"math"
	"sort"

	"github.com/paulmach/orb"
)

// Starts is the length in mm run at each vertex, the first 0. What a closed path still runs from
// its last vertex to its first is not in it.
func (p Path) Starts() []float64 {
	starts := make([]float64, len(p.Points))
	for i := 1; i < len(p.Points); i++ {
		starts[i] = starts[i-1] + Dist(p.Points[i-1], p.Points[i])
	}
	return starts
}

// Ruler finds places along a path by length. It measures the path once, so it is for many places on one path.
type Ruler struct {
	Path   Path
	starts []float64
	length float64
}

// Ruler measures the path.
func (p Path) Ruler() Ruler {
	r := Ruler{Path: p, starts: p.Starts()}
	if n := len(p.Points); n > 0 {
		r.length = r.starts[n-1]
		if p.Closed {
			r.length += Dist(p.Points[n-1], p.Points[0])
		}
	}
	return r
}

// Length is the whole length in mm.
func (r Ruler) Length() float64 { return r.length }

// Within maps a length into the path: clamped to its ends, or wrapped when it is closed.
func (r Ruler) Within(s float64) float64 {
	if !r.Path.Closed {
		return math.Max(0, math.Min(s, r.length))
	}
	if !(r.length > 0) {
		return 0
	}
	if s = math.Mod(s, r.length); s < 0 {
		s += r.length
	}
	return s
}

// Segment is the segment at length s, and the position in it, 0 to 1. Segments of no length are skipped; at a vertex
// it is the segment that begins there.
func (r Ruler) Segment(s float64) (i int, t float64) {
	segs := r.Path.Segments()
	if segs == 0 {
		return 0, 0
	}
	s = r.Within(s)
	i = sort.Search(segs, func(k int) bool { return r.starts[k] > s }) - 1
	i = max(i, 0)
	for i > 0 && r.segLength(i) < Tiny {
		i--
	}
	if l := r.segLength(i); l > 0 {
		t = math.Min(1, (s-r.starts[i])/l)
	}
	return i, t
}

func (r Ruler) segLength(i int) float64 {
	a, b := r.Path.Segment(i)
	return Dist(a, b)
}

// At is the point at length s and the direction of the path there, of length 1. An empty path
// gives zeros.
func (r Ruler) At(s float64) (pt orb.Point, dir orb.Point) {
	if r.Path.Segments() == 0 {
		if len(r.Path.Points) == 1 {
			pt = r.Path.Points[0]
		}
		return pt, dir
	}
	i, t := r.Segment(s)
	a, b := r.Path.Segment(i)
	return Lerp(a, b, t), Unit(Sub(b, a))
}

// At is the point s mm along the path and the direction there, of length 1; s is clamped, or wrapped when the path is
// closed. It measures the path each time: for many places use a Ruler.
func (p Path) At(s float64) (pt orb.Point, dir orb.Point) { return p.Ruler().At(s) }

// Sub is the open stretch between two lengths in mm. On a closed path s1 below s0 means that it
// runs over the start; a whole turn and more gives one turn. On an open path both are clamped, and
// s1 at or below s0 gives an empty path.
func (p Path) Sub(s0, s1 float64) Path {
	r := p.Ruler()
	if p.Segments() == 0 {
		return Path{}
	}
	if p.Closed {
		span := s1 - s0
		if span < 0 {
			span = r.Within(span)
		}
		s0 = r.Within(s0)
		s1 = s0 + math.Min(span, r.length)
	} else {
		s0, s1 = r.Within(s0), r.Within(s1)
	}
	if !(s1 > s0) {
		return Path{}
	}
	return r.stretch(s0, s1)
}

// stretch cuts out s0 to s1, where s1 may run over the start of a closed path.
func (r Ruler) stretch(s0, s1 float64) Path {
	var q Path
	add := func(pt orb.Point, corner bool) {
		if n := len(q.Points); n > 0 && Dist(q.Points[n-1], pt) < Tiny {
			q.Corners[n-1] = q.Corners[n-1] || corner
			return
		}
		q.Points, q.Corners = append(q.Points, pt), append(q.Corners, corner)
	}
	start, _ := r.At(s0)
	add(start, true)
	n := len(r.Path.Points)
	first, _ := r.Segment(s0)
	for k := first + 1; k < first+1+n; k++ {
		at := r.starts[k%n]
		if k >= n {
			if !r.Path.Closed {
				break
			}
			at += r.length
		}
		if at >= s1 {
			break
		}
		if at > s0 {
			add(r.Path.Points[k%n], r.Path.Corner(k%n))
		}
	}
	end, _ := r.At(s1)
	if r.Path.Closed && s1 >= r.length+s0 {
		end = start // a whole turn ends where it began, without rounding
	}
	add(end, true)
	if r.Path.Corners == nil {
		q.Corners = nil
	}
	return q
}
