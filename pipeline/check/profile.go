package check

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// stepMM is how far apart the allowance is measured along the sew line, vertices apart.
const stepMM = 1.0

// mostSamples bounds the places looked at on one line: a piece of a kilometre is a mistaken unit,
// and is measured in longer steps.
const mostSamples = 200_000

// sample is the allowance at one place of the sew line.
type sample struct {
	at  orb.Point
	dir orb.Point // along the sew line, length 1
	s   float64   // along the sew line it belongs to
	d   float64   // to the nearest point of the piece's cut line
	cut orb.Point // that point
	// outside is true where the sew line lies beyond the cut line there.
	outside bool
}

// edgeProfile is the allowance along one edge of the sew line.
type edgeProfile struct {
	edge     pattern.Edge
	line     int
	from, to float64 // along the line; to may exceed its length where the edge runs over the start
	samples  []sample
	// base is the width that the edge has for most of its length.
	base float64
	// before and after are the neighbours' numbers, -1 at the ends of an open line or beside a fold.
	before, after int
}

// profile is the allowance of a piece, edge by edge.
type profile struct {
	edges    []edgeProfile
	min, max sample
	cut, sew *geom.Index // the cut line without what lies on the fold
	lengths  []float64
	found    []fault
	looked   bool
}

// profile measures the allowance once, from the sew line to the same piece's cut line, what lies on
// the fold left out: at every vertex and at most a millimetre apart. From cut to sew would be wrong,
// since from a mitred corner the way back is 1.41 times the allowance. It is nil where the allowance
// cannot be measured.
func (s *subject) profile() *profile {
	if s.wrapped == nil {
		s.wrapped = &profile{}
		if s.both() {
			s.wrapped = s.measure()
		}
	}
	if len(s.wrapped.edges) == 0 {
		return nil
	}
	return s.wrapped
}

func (s *subject) measure() *profile {
	runs := pattern.OffFolds(*s.outline, s.p.FoldLine(), s.p.Second)
	if len(runs) == 0 {
		return &profile{}
	}
	w := &profile{sew: geom.NewIndex(s.p.Sew...), cut: geom.NewIndex(runs...)}
	cut := cutLine{runs: runs, index: w.cut.Follow(), ccw: s.ccw}
	w.min.d, w.max.d = math.Inf(1), math.Inf(-1)
	for k := range s.p.Sew {
		w.lengths = append(w.lengths, s.p.Sew[k].Length())
		w.measureLine(s.p, k, cut)
	}
	for i := range w.edges {
		w.edges[i].base = w.base(i)
	}
	return w
}

func (w *profile) measureLine(p *pattern.Piece, k int, cut cutLine) {
	line := &p.Sew[k]
	n := len(line.Points)
	if line.Segments() == 0 {
		return
	}
	starts := line.Starts()
	total := w.lengths[k]
	edges := p.EdgesOf(line)
	first := len(w.edges)
	for i, e := range edges {
		last := n - 1
		if i+1 < len(edges) {
			last = edges[i+1].First
		} else if line.Closed {
			last = n + edges[0].First
		}
		ep := edgeProfile{edge: e, line: k, from: starts[e.First], to: starts[last%n], before: -1, after: -1}
		if last >= n {
			ep.to += total
		}
		if !e.Fold {
			ep.samples = cut.along(line, e.First, last, ep.from, math.Max(stepMM, total/mostSamples))
		}
		w.edges = append(w.edges, ep)
		for _, sm := range ep.samples {
			if sm.d < w.min.d {
				w.min = sm
			}
			if sm.d > w.max.d {
				w.max = sm
			}
		}
	}
	w.link(first, line.Closed)
}

// link tells the edges of one line who their neighbours are.
func (w *profile) link(first int, closed bool) {
	n := len(w.edges) - first
	for i := range n {
		if j := (i + 1) % n; j != 0 || closed && n > 1 {
			a, b := first+i, first+j
			if !w.edges[a].edge.Fold && !w.edges[b].edge.Fold {
				w.edges[a].after, w.edges[b].before = b, a
			}
		}
	}
}

// stretch is a run of samples as a line for pictures: every place where it bends, and its ends.
func stretch(run []sample) []orb.Point {
	var out []orb.Point
	for i, sm := range run {
		bends := i == 0 || i == len(run)-1 || geom.Dot(sm.dir, run[i-1].dir) < 1-1e-12
		if bends && (len(out) == 0 || out[len(out)-1] != sm.at) {
			out = append(out, sm.at)
		}
	}
	return out
}

// cutLine is the cut line without its fold edge, to measure against.
type cutLine struct {
	runs  []geom.Path
	index *geom.Follower
	ccw   bool
}

// along measures from vertex first to vertex last, which may run over the start of a closed line.
func (c cutLine) along(line *geom.Path, first, last int, from, step float64) []sample {
	n := len(line.Points)
	size := 1
	for i := first; i < last; i++ {
		size += int(math.Ceil(geom.Dist(line.Points[i%n], line.Points[(i+1)%n]) / step))
	}
	out := make([]sample, 0, size)
	s := from
	var dir orb.Point
	for i := first; i < last; i++ {
		a, b := line.Points[i%n], line.Points[(i+1)%n]
		length := geom.Dist(a, b)
		if length < geom.Tiny {
			continue
		}
		dir = geom.Unit(geom.Sub(b, a))
		steps := int(math.Ceil(length / step))
		for k := range steps {
			t := float64(k) / float64(steps)
			out = append(out, c.at(geom.Lerp(a, b, t), dir, s+t*length))
		}
		s += length
	}
	return append(out, c.at(line.Points[last%n], dir, s))
}

func (c cutLine) at(p, dir orb.Point, s float64) sample {
	run, near := c.index.Nearest(p)
	sm := sample{at: p, dir: dir, s: s, d: near.Dist, cut: near.Point}
	sm.outside = near.Dist > geom.CloseTol && !c.inside(run, near, p)
	return sm
}

// inside tells on which side of the cut line p lies, by the nearest stretch; where that is a vertex,
// by both stretches that meet there.
func (c cutLine) inside(run int, near geom.Near, p orb.Point) bool {
	path := c.runs[run]
	if near.T > 0 && near.T < 1 {
		a, b := path.Segment(near.Segment)
		return (geom.Cross(geom.Sub(b, a), geom.Sub(p, a)) > 0) == c.ccw
	}
	normal := c.normal(path, near.Segment)
	if n := path.Segments(); near.T <= 0 && (near.Segment > 0 || path.Closed) {
		normal = geom.Add(normal, c.normal(path, (near.Segment+n-1)%n))
	} else if near.T >= 1 && (near.Segment+1 < n || path.Closed) {
		normal = geom.Add(normal, c.normal(path, (near.Segment+1)%n))
	}
	return geom.Dot(normal, geom.Sub(p, near.Point)) > 0
}

func (c cutLine) normal(path geom.Path, i int) orb.Point {
	a, b := path.Segment(i)
	left := geom.Left(geom.Unit(geom.Sub(b, a)))
	if !c.ccw {
		return geom.Mul(left, -1)
	}
	return left
}
