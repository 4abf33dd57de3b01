package check

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// trueWithin is by how many degrees two joined corners may miss 180 (common practice: 2 to 3
// degrees, or 1 mm at 10 mm along).
const trueWithin = 3.0

// openFrom is the corner from which an edge at a seam's end runs on in the seam's own line, as the edges of a slit do: where
// both do, nothing crosses.
const openFrom = 170.0

// cornerNotTrue joins the pieces seam to seam and looks at the edges that cross the seam's ends: the
// two corners must add to 180 degrees, else the edge has a peak or a dent there.
func cornerNotTrue(d *draft) []pattern.Finding {
	joints, _ := d.joints()
	var out []pattern.Finding
	for _, c := range d.p.Corners {
		if off := math.Abs(c.Degrees - 180); off > trueWithin {
			what := "a point that juts out, a beak"
			if c.Degrees > 180 {
				what = "a dent"
			}
			f := pattern.NewFinding(pattern.RuleCornerNotTrue, fmt.Sprintf("%s makes %s: the corners add to %.2f degrees, %.2f off 180", c.What, what, c.Degrees, off), c.Mend)
			f.Piece, f.Index, f.At, f.Line, f.Column = c.Piece, c.Index, pattern.Place(c.At), c.Line, c.Column
			out = append(out, f)
		}
	}
	for _, j := range joints {
		if j.seam.Corners || len(j.a) != 1 || len(j.b) != 1 || j.a[0].s == j.b[0].s {
			continue // over several pieces, or a dart: no one edge crosses both
		}
		a0, a1, okA := j.a[0].corners()
		b0, b1, okB := j.b[0].corners()
		if !okA || !okB {
			continue
		}
		pairs := [][2]corner{{a0, b1}, {a1, b0}}
		if sameWay(a0, a1, b0, b1) {
			pairs = [][2]corner{{a0, b0}, {a1, b1}}
		}
		for _, p := range pairs {
			if f, ok := d.untrue(j, p[0], p[1]); ok {
				out = append(out, f)
			}
		}
	}
	return out
}

// corner is an end of a seam on one piece: the angle inside the piece and the edge that crosses.
type corner struct {
	s     *subject
	at    orb.Point
	deg   float64
	cross pattern.Edge
}

// corners are those where the run begins and ends, as its line runs.
func (w run) corners() (from, to corner, ok bool) {
	n := len(w.s.p.Edges)
	if n < 2 || !w.line.Closed {
		return from, to, false
	}
	angle := insideAngles(w.line)
	made := func(edge, cross int) corner {
		i := w.s.p.Edges[edge].First
		return corner{s: w.s, at: w.line.Points[i], deg: angle(i), cross: w.s.p.Edges[cross]}
	}
	first, after := w.first(), (w.last()+1)%n
	return made(first, (first+n-1)%n), made(after, after), true
}

// insideAngles gives the angle of the piece at each vertex of its line, in degrees, between the tangents there.
func insideAngles(line *geom.Path) func(vertex int) float64 {
	clockwise := line.SignedArea() < 0
	return func(vertex int) float64 {
		in, out := geom.Mul(tangent(line, vertex, -1), -1), tangent(line, vertex, 1)
		turn := math.Atan2(geom.Cross(in, out), geom.Dot(in, out)) * 180 / math.Pi
		if clockwise {
			turn = -turn
		}
		return 180 - turn
	}
}

// tangent is the direction in which a closed line leaves vertex i, stepping forward or back. The
// first chord of a curve leans by half its own turn, which on a tight neck is a degree; the turn at
// the next vertex tells how much, if the line is smooth there.
func tangent(line *geom.Path, i, step int) orb.Point {
	n := len(line.Points)
	at := func(k int) int { return ((i+k*step)%n + n) % n }
	a, b, c := line.Points[i], line.Points[at(1)], line.Points[at(2)]
	u, v := geom.Sub(b, a), geom.Sub(c, b)
	turn := math.Atan2(geom.Cross(u, v), geom.Dot(u, v))
	if line.Corner(at(1)) || math.Abs(turn) > sharpTurn {
		return geom.Unit(u)
	}
	l, m := geom.Norm(u), geom.Norm(v)
	return geom.Rotate(-turn * l / (l + m)).Vector(geom.Unit(u))
}

// runsOn tells whether the edge that crosses a seam's end on one piece goes on in that of the other: both
// bear one name, or both are sewn to the same side, or neither is sewn. Where two seams meet a third, as
// shoulder and armhole do at a sleeve's cap, nothing runs on; nor where the two are sewn to one another, so that one
// seam follows the other.
func (d *draft) runsOn(a, b corner) bool {
	sewnA, sewnB := d.sides(a), d.sides(b)
	for k := range sewnA {
		if sewnB[[2]int{k[0], 1 - k[1]}] {
			return false
		}
	}
	if alike(a, b) {
		return true
	}
	for k := range sewnA {
		if sewnB[k] {
			return true
		}
	}
	return len(sewnA) == 0 && len(sewnB) == 0
}

// sides are the sides of seams in which the edge lies that crosses at a corner: the seam's number and
// which side.
func (d *draft) sides(c corner) map[[2]int]bool {
	out := map[[2]int]bool{}
	for i, seam := range d.p.Seams {
		for k, side := range [][]pattern.EdgeRef{seam.A, seam.B} {
			for _, r := range side {
				if r.Piece == c.s.p.Name && r.Edge == c.cross.Name && r.Edge != "" {
					out[[2]int{i, k}] = true
				}
			}
		}
	}
	return out
}

// alike tells that two crossing edges are of one kind: neck and neck, hem and hem.
func alike(x, y corner) bool {
	return !x.cross.Fold && !y.cross.Fold &&
		(x.cross.Kind != "" && x.cross.Kind == y.cross.Kind || x.cross.Name != "" && x.cross.Name == y.cross.Name)
}

// sameWay tells whether the seam's first end on one piece meets its first end on the other. The
// edges that cross the ends are of one kind on both pieces - neck to neck, hem to hem; where they
// do not tell, the way that makes the corners truer is meant.
func sameWay(a0, a1, b0, b1 corner) bool {
	count := func(x, y corner) int {
		if alike(x, y) {
			return 1
		}
		return 0
	}
	same, turned := count(a0, b0)+count(a1, b1), count(a0, b1)+count(a1, b0)
	if same != turned {
		return same > turned
	}
	miss := func(x, y corner) float64 { return math.Abs(x.deg + y.deg - 180) }
	return miss(a0, b0)+miss(a1, b1) <= miss(a0, b1)+miss(a1, b0)
}

func (d *draft) untrue(j joined, a, b corner) (pattern.Finding, bool) {
	sum := a.deg + b.deg
	if a.deg > openFrom && b.deg > openFrom || math.Abs(sum-180) <= trueWithin || a.cross.Fold || b.cross.Fold || !d.runsOn(a, b) {
		return pattern.Finding{}, false
	}
	what := "peak"
	if sum > 180 {
		what = "dent"
	}
	na, nb := seamWords(j)
	f := b.s.at(pattern.RuleCornerNotTrue, b.at,
		fmt.Sprintf("where %s is sewn to %s, the edge across makes a %s: %s degrees at %s of %s and %s here, together %s instead of 180",
			na, nb, what, pattern.Tenths(a.deg), a.s.place(a.at), a.s.p.Name, pattern.Tenths(b.deg), pattern.Tenths(sum)),
		"true the edge across the seam, square to it on both pieces")
	f.Edge = edgeName(b.cross)
	return f, true
}
