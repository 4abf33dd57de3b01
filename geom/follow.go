package geom

import (
	"math"

	"github.com/paulmach/orb"
)

// Follower answers like Index.Nearest for points that come one after another along a line: the
// place found for the last point tells at once how far the next one can be, so that nearly all of
// the lines are never looked at. It is for one goroutine.
type Follower struct {
	ix   *Index
	last int
}

// Follow starts a row of questions.
func (ix *Index) Follow() *Follower { return &Follower{ix: ix} }

// Nearest gives the path's number and the place on it, exactly as Index.Nearest does.
func (f *Follower) Nearest(q orb.Point) (path int, n Near) {
	t := f.ix.tree
	if len(t.Ends) == 0 {
		return f.ix.Nearest(q)
	}
	s := search{tree: t, x: q[0], y: q[1], seg: f.last, d2: math.Inf(1)}
	s.look(f.last)
	// The next stretch is as likely; the two together follow a line at any step.
	if next := f.last + 1; next < len(t.Ends) {
		s.look(next)
	}
	s.down(0)
	f.last = s.seg
	e := t.Ends[s.seg]
	pt := Lerp(e[0], e[1], s.at)
	return f.ix.path[s.seg], Near{
		Point: pt, Dist: Dist(pt, q), Segment: f.ix.local[s.seg], T: s.at,
		S: f.ix.starts[s.seg] + s.at*Dist(e[0], e[1]),
	}
}

// search looks down a tree with a best place already in hand. It is written out in plain numbers,
// since it is what takes the time when a whole draft is measured.
type search struct {
	tree *Tree
	x, y float64
	seg  int
	at   float64
	d2   float64
}

func (s *search) look(i int) {
	e := &s.tree.Ends[i]
	ux, uy := e[1][0]-e[0][0], e[1][1]-e[0][1]
	wx, wy := s.x-e[0][0], s.y-e[0][1]
	t := 0.0
	if l2 := ux*ux + uy*uy; l2 > 0 {
		t = max(0, min(1, (wx*ux+wy*uy)/l2))
	}
	dx, dy := wx-t*ux, wy-t*uy
	if d := dx*dx + dy*dy; d < s.d2 || d == s.d2 && i < s.seg {
		s.seg, s.at, s.d2 = i, t, d
	}
}

func (s *search) down(node int) {
	b := &s.tree.boxes[node]
	dx := max(0, b.x0-s.x, s.x-b.x1)
	dy := max(0, b.y0-s.y, s.y-b.y1)
	if dx*dx+dy*dy > s.d2 {
		return
	}
	if node < s.tree.first {
		s.down(2*node + 1)
		s.down(2*node + 2)
		return
	}
	lo, hi := s.tree.leaf(node)
	for i := lo; i < hi; i++ {
		s.look(i)
	}
}
