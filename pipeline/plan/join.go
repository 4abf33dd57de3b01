package plan

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// joinable is what two strokes must have in common to become one.
type joinable struct {
	tool  devices.Tool
	role  string
	kind  string
	piece int
	pen   int
}

// join makes one stroke of strokes whose ends meet within tol, and counts the lifts that this saves. Where more than
// two ends meet, they pair in the order in which they came. Both end points are kept, so that no line is moved.
func join(strokes []devices.Stroke, p devices.Profile, tol float64) ([]devices.Stroke, int) {
	j := &joiner{strokes: strokes, tol: tol, cells: map[cell][]int{}}
	for i, s := range strokes {
		if s.Fixed || s.Label != nil || s.Path.Closed || len(s.Path.Points) < 2 {
			continue
		}
		key := joinable{s.Tool, s.Role, s.Kind, s.Piece, p.Pen.For(s.Role)}
		j.add(2*i, s.Path.Points[0], key)
		j.add(2*i+1, s.Path.Points[len(s.Path.Points)-1], key)
	}
	return j.chains()
}

// joiner pairs ends. An end is numbered 2*stroke, plus 1 for the last point.
type joiner struct {
	strokes []devices.Stroke
	tol     float64
	cells   map[cell][]int
	mate    map[int]int
}

type cell struct {
	key  joinable
	x, y int
}

func (j *joiner) point(e int) orb.Point {
	pts := j.strokes[e/2].Path.Points
	if e%2 == 0 {
		return pts[0]
	}
	return pts[len(pts)-1]
}

// add pairs an end with the nearest unpaired one within tol, or keeps it for a later one.
func (j *joiner) add(e int, at orb.Point, key joinable) {
	x, y := int(math.Floor(at[0]/j.tol)), int(math.Floor(at[1]/j.tol))
	best, d := -1, j.tol
	for v := y - 1; v <= y+1; v++ {
		for u := x - 1; u <= x+1; u++ {
			for _, o := range j.cells[cell{key, u, v}] {
				if _, taken := j.mate[o]; taken {
					continue
				}
				if w := geom.Dist(at, j.point(o)); w <= d && (best < 0 || w < d) {
					best, d = o, w
				}
			}
		}
	}
	if best < 0 {
		c := cell{key, x, y}
		j.cells[c] = append(j.cells[c], e)
		return
	}
	if j.mate == nil {
		j.mate = map[int]int{}
	}
	j.mate[e], j.mate[best] = best, e
}

// chains follows the pairs and builds the joined strokes in the order of their first members.
func (j *joiner) chains() ([]devices.Stroke, int) {
	done := make([]bool, len(j.strokes))
	out := make([]devices.Stroke, 0, len(j.strokes))
	joints := 0
	for i := range j.strokes {
		if done[i] {
			continue
		}
		first, round := j.firstEnd(2 * i)
		s, n := j.follow(first, round, done)
		out = append(out, s)
		joints += n
	}
	return out, joints
}

// firstEnd goes back from an end to the free end of its chain; round is true where the chain is closed.
func (j *joiner) firstEnd(e int) (first int, round bool) {
	for at := e; ; {
		m, ok := j.mate[at]
		if !ok {
			return at, false
		}
		if at = m ^ 1; at == e {
			return e, true
		}
	}
}

// follow builds the chain that starts at an end.
func (j *joiner) follow(first int, round bool, done []bool) (devices.Stroke, int) {
	s := j.strokes[first/2]
	done[first/2] = true
	next, ok := j.mate[first^1]
	if !ok {
		return s, 0
	}
	path, joints := turned(s.Path, first%2 == 1), 0
	for ok && !done[next/2] {
		done[next/2] = true
		path = joinedPath(path, turned(j.strokes[next/2].Path, next%2 == 1))
		joints++
		next, ok = j.mate[next^1]
	}
	if round {
		path = closed(path)
		joints++
	}
	s.Path = path
	return s, joints
}

// turned is the path, reversed if asked, with its corners listed explicitly.
func turned(p geom.Path, back bool) geom.Path {
	q := p.Clone()
	q.Corners = make([]bool, len(q.Points))
	for i := range q.Points {
		q.Corners[i] = p.Corner(i)
	}
	if back {
		q = q.Reversed()
	}
	return q
}

// joinedPath appends b to a; a point that they share is written once.
func joinedPath(a, b geom.Path) geom.Path {
	from := 0
	if geom.Dist(a.Points[len(a.Points)-1], b.Points[0]) < geom.Tiny {
		from = 1
	}
	a.Points = append(a.Points, b.Points[from:]...)
	a.Corners = append(a.Corners, b.Corners[from:]...)
	return a
}

func closed(p geom.Path) geom.Path {
	n := len(p.Points)
	if n > 3 && geom.Dist(p.Points[0], p.Points[n-1]) < geom.Tiny {
		p.Points, p.Corners = p.Points[:n-1], p.Corners[:n-1]
	}
	p.Closed = true
	return p
}
