package geom

import "github.com/paulmach/orb"

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
	if len(t.ends) == 0 {
		return f.ix.Nearest(q)
	}
	s := search{tree: t, q: q, seg: f.last}
	s.at, s.d2 = segNearest(t.ends[f.last][0], t.ends[f.last][1], q)
	// The next stretch is as likely; the two together follow a line at any step.
	if next := f.last + 1; next < len(t.ends) {
		s.look(next)
	}
	s.down(0)
	f.last = s.seg
	e := t.ends[s.seg]
	pt := Lerp(e[0], e[1], s.at)
	return f.ix.path[s.seg], Near{
		Point: pt, Dist: Dist(pt, q), Segment: f.ix.local[s.seg], T: s.at,
		S: f.ix.starts[s.seg] + s.at*Dist(e[0], e[1]),
	}
}

// search looks down a tree with a best place already in hand.
type search struct {
	tree *tree
	q    orb.Point
	seg  int
	at   float64
	d2   float64
}

func (s *search) look(i int) {
	e := &s.tree.ends[i]
	if at, d := segNearest(e[0], e[1], s.q); d < s.d2 || (d == s.d2 && i < s.seg) {
		s.seg, s.at, s.d2 = i, at, d
	}
}

func (s *search) down(node int) {
	if s.tree.boxes[node].dist2(s.q) > s.d2 {
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
