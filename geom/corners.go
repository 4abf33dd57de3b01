package geom

import (
	"math"

	"github.com/paulmach/orb"
)

// MarkCorners gives the path with Corners set where the direction turns by minTurn radians or
// more. Turns that belong to a finely flattened tight curve are left smooth: the chords on both
// sides are short enough to be chords of a circle with that turn, or the vertex is where such a
// curve runs out into a straight line.
func MarkCorners(p Path, minTurn float64) Path {
	q := p.Clone()
	n := len(q.Points)
	q.Corners = make([]bool, n)
	turns := q.turns()
	for i := range n {
		if !p.Closed && (i == 0 || i == n-1) {
			q.Corners[i] = true
			continue
		}
		q.Corners[i] = math.Abs(turns[i]) >= minTurn && !q.inSmoothRun(i, turns)
	}
	return q
}

// turns is the signed change of direction at each vertex, 0 at the ends of an open path. Segments of no length are
// skipped; the turn is at the first vertex of several at one place.
func (p Path) turns() []float64 {
	n := len(p.Points)
	turns := make([]float64, n)
	for i := range n {
		in, out := p.before(i), p.after(i)
		if in == (orb.Point{}) || out == (orb.Point{}) || Dist(p.Points[(i+n-1)%n], p.Points[i]) < Tiny {
			continue
		}
		turns[i] = math.Atan2(Cross(in, out), Dot(in, out))
	}
	return turns
}

// before is the last stretch of some length that ends at vertex i, after the first that begins
// there; zero where there is none.
func (p Path) before(i int) orb.Point { return p.stretchFrom(i, -1) }
func (p Path) after(i int) orb.Point  { return p.stretchFrom(i, 1) }

func (p Path) stretchFrom(i, step int) orb.Point {
	n := len(p.Points)
	for k := 1; k < n; k++ {
		j := i + k*step
		if !p.Closed && (j < 0 || j >= n) {
			break
		}
		if d := Sub(p.Points[((j%n)+n)%n], p.Points[i]); Norm(d) >= Tiny {
			return Mul(d, float64(step))
		}
	}
	return orb.Point{}
}

// inSmoothRun tells whether the turn at i is one of a curve's. A chord of length l between turns t
// has a sagitta of about l t / 8.
func (p Path) inSmoothRun(i int, turns []float64) bool {
	n := len(p.Points)
	t := turns[i]
	fine := func(l float64) bool { return l*math.Abs(t)/8 <= 2*FlattenTol }
	evenWith := func(j int, atMost float64) bool {
		if !p.Closed && (j < 0 || j >= n) {
			return false
		}
		o := turns[(j+n)%n]
		return o*t > 0 && math.Abs(t) <= atMost*math.Abs(o)
	}
	lin, lout := Norm(p.before(i)), Norm(p.after(i))
	switch {
	case fine(lin) && fine(lout):
		return evenWith(i-1, 3) || evenWith(i+1, 3)
	case fine(lin): // the curve runs out here with half a turn
		return evenWith(i-1, 0.8)
	case fine(lout):
		return evenWith(i+1, 0.8)
	}
	return false
}
