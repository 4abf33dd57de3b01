package check

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/geom/offset"
	"tracewheel/pipeline/pattern"
)

const (
	// slitTurn is the turn, in degrees, at which the sides of a slit begin and end, and slitDeep the depth, in mm, from which
	// one is told of: a shallower one is a dent of the line (common practice).
	slitTurn, slitDeep = 20.0, 5.0
	// slitInside is the angle inside the piece, in degrees, that the bottom of a slit has at least, where it is pointed or
	// square.
	slitInside = 255.0
	// slitMitre is the limit of a corner in widths; the room between the sides of a slit does not depend on it.
	slitMitre = 3.0
)

// slitFilled finds slits in the outline that are narrower than the allowances of their sides: the allowances meet, and the cut
// line that is built round them runs across.
func slitFilled(s *subject) []pattern.Finding {
	ring, ok := s.p.SewRing()
	line := &ring
	if len(s.p.Sew) == 1 && s.p.Sew[0].Closed {
		line = &s.p.Sew[0] // which the piece's edges divide
	}
	if s.p.Cut != nil || !ok || !s.sound || !hasSlit(line) {
		return nil
	}
	sides, of := s.slitSides(line)
	rings, err := offset.Build(*line, sides, slitMitre)
	if sides == nil || err != nil {
		return nil // told where the piece is prepared
	}
	cut := make([]bool, len(sides))
	for _, r := range rings {
		for i, k := range r.Edge {
			if k >= 0 && !r.Hole {
				a, b := r.Path.Segment(i)
				cut[k] = cut[k] || geom.Dist(a, b) > geom.CloseTol
			}
		}
	}
	n := len(sides)
	var out []pattern.Finding
	for k := range n {
		if cut[k] || !cut[(k+n-1)%n] {
			continue
		}
		last := k
		for !cut[(last+1)%n] {
			last = (last + 1) % n
		}
		to := sides[(last+1)%n].First
		if f, deep := s.filled(line, sides[k].First, to, of[k], of[last]); deep {
			out = append(out, f)
		}
	}
	return out
}

// hasSlit tells whether the line has a corner that may be the bottom of a slit.
func hasSlit(line *geom.Path) bool {
	angle := insideAngles(line)
	for i := range line.Points {
		if angle(i) > slitInside {
			return true
		}
	}
	return false
}

// slitSides divides a line at its edges and at all corners, each part with its share of the edge's allowance, and of gives the
// edge of each. There are none where an allowance is not known.
func (s *subject) slitSides(line *geom.Path) (sides []offset.Edge, of []pattern.Edge) {
	edges := s.p.EdgesOf(line)
	n, starts, total := len(line.Points), line.Starts(), line.Length()
	angle := insideAngles(line)
	for i, e := range edges {
		w, known := s.widthOf(e)
		if !known {
			return nil, nil
		}
		next := edges[(i+1)%len(edges)].First
		if i+1 == len(edges) {
			next += n
		}
		from := starts[e.First]
		long := starts[next%n] - from
		if next >= n {
			long += total
		}
		for v := e.First; v < next; v++ {
			if v > e.First && math.Abs(angle(v%n)-180) < slitTurn {
				continue
			}
			at := starts[v%n] - from
			if v >= n {
				at += total
			}
			here := w.From + (w.To-w.From)*at/long
			part := offset.Edge{First: v % n, From: here, To: w.To}
			if v == e.First {
				part.Corner, part.SewnFirst = e.Corner, e.SewnFirst
			} else {
				sides[len(sides)-1].To = here
			}
			sides, of = append(sides, part), append(of, e)
		}
	}
	for len(sides) > 0 && sides[len(sides)-1].First < sides[0].First { // of the last edge, which runs over the line's start
		last := len(sides) - 1
		sides = append([]offset.Edge{sides[last]}, sides[:last]...)
		of = append([]pattern.Edge{of[last]}, of[:last]...)
	}
	return sides, of
}

// widthOf is the allowance of an edge, as it is prepared.
func (s *subject) widthOf(e pattern.Edge) (w pattern.Width, known bool) {
	if e.Fold {
		return w, true
	}
	if e.Allowance != nil {
		return *e.Allowance, true
	}
	if whole := s.wholeWidth(); whole != nil {
		return pattern.Width{From: *whole, To: *whole}, true
	}
	return w, false
}

// filled tells of the stretch of a line from one vertex to another that has no part in the cut line; deep is false where that
// is no more than a dent.
func (s *subject) filled(line *geom.Path, from, to int, first, last pattern.Edge) (f pattern.Finding, deep bool) {
	n := len(line.Points)
	a, b := line.Points[from], line.Points[to]
	mouth := geom.Dist(a, b)
	var bottom orb.Point
	depth, stretch := 0.0, []orb.Point{a}
	for v := from; v != to; {
		v = (v + 1) % n
		q := line.Points[v]
		stretch = append(stretch, q)
		if d := geom.Dist(q, geom.Lerp(a, b, 0.5)); d > depth {
			depth, bottom = d, q
		}
	}
	if depth < max(slitDeep, mouth/2) {
		return f, false
	}
	where := "in the " + edgeName(first)
	switch {
	case edgeName(first) == "" || edgeName(last) == "":
		where = "at " + s.place(bottom)
	case first.Name != last.Name:
		where = "between " + edgeName(first) + " and " + edgeName(last)
	}
	f = s.at(pattern.RuleSlitFilled, bottom,
		fmt.Sprintf("the slit %s of %s is %s wide and %s deep, and the seam allowances of its sides meet: the cut line runs across it and leaves it out",
			where, s.p.Name, s.say.length(mouth), s.say.length(depth)),
		"right for a dart; otherwise give its sides less allowance, make it wider, or take it out of the outline and mark it as a line, to be slit when it is sewn")
	f.Edge, f.Stretch, f.Line = edgeName(first), stretch, first.Line
	return f, true
}
