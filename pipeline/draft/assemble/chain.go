package assemble

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// cornerTurn is the turn from which the direction breaks where two lines were joined: a degree is
// more than the rounding of a smooth join and less than any corner a person draws.
const cornerTurn = math.Pi / 180

// straightTol is how far, in mm, the vertex at a join may leave the straight line through its
// neighbours and be dropped: a line drawn in two parts is the same line.
const straightTol = 1e-6

// strand is a line with what is needed to speak of it.
type strand struct {
	path  geom.Path
	group string
	where string
	line  int
}

// mended is a place at which two ends were brought together.
type mended struct {
	joint
	group string
	line  int
}

// chained is what became of a set of lines.
type chained struct {
	closed, open []strand
	mends        []mended
	crowded      []orb.Point
}

// chain joins lines of one role and one group. Closed lines stay as they are; all closed results
// run counter-clockwise from their lowest corner, open ones from their lower end, so that the same
// drawing gives the same lines however it was written.
func chain(lines []strand, mend bool) chained {
	var c chained
	var loose []strand
	for _, s := range lines {
		switch {
		case s.path.Closed:
			s.path = settleClosed(s.path)
			c.closed = append(c.closed, s)
		case len(s.path.Points) > 1 && s.path.Length() > exactTol:
			loose = append(loose, s)
		}
	}
	paths := make([]geom.Path, len(loose))
	for i, s := range loose {
		paths[i] = s.path
	}
	m := newMatcher(paths)
	m.run(mend)
	c.crowded = m.crowded
	m.collect(loose, &c)
	sortStrands(c.closed)
	sortStrands(c.open)
	slices.SortFunc(c.mends, func(a, b mended) int { return comparePoints(a.mid, b.mid) })
	return c
}

// collect walks the chains that the matching made.
func (m *matcher) collect(loose []strand, c *chained) {
	used := make([]bool, len(loose))
	walk := func(from int) {
		var w weave
		first := loose[from/2]
		closed := false
		for e := from; ; {
			i := e / 2
			if used[i] {
				closed = true
				break
			}
			used[i] = true
			if loose[i].line > 0 && (first.line == 0 || loose[i].line < first.line) {
				first.line, first.where = loose[i].line, loose[i].where
			}
			w.add(m, e)
			far := e ^ 1
			next := m.mate[far]
			if next < 0 {
				break
			}
			if j := m.joint[far]; j.size > 0 {
				c.mends = append(c.mends, mended{j, first.group, loose[i].line})
			}
			e = next
		}
		first.path = w.finish(closed)
		if closed {
			first.path = settleClosed(first.path)
			c.closed = append(c.closed, first)
			return
		}
		if pts := first.path.Points; comparePoints(pts[len(pts)-1], pts[0]) < 0 {
			first.path = first.path.Reversed()
		}
		c.open = append(c.open, first)
	}
	for e := range m.at { // open chains begin at a free end
		if m.mate[e] < 0 && !used[e/2] {
			walk(e)
		}
	}
	for i := range loose {
		if !used[i] {
			walk(2 * i)
		}
	}
}

// weave puts the lines of a chain one after another.
type weave struct {
	pts     []orb.Point
	corners []bool
	joins   []bool // vertices at which two lines meet
	soft    bool   // some line tells its corners
	bridged bool   // the last line ended with a bridge
}

// add appends a line, entered at its end e.
func (w *weave) add(m *matcher, e int) {
	line := m.lines[e/2]
	w.soft = w.soft || line.Corners != nil
	in, out := m.joint[e], m.joint[e^1]
	if e%2 == 1 {
		line = line.Reversed()
	}
	if in.trim > 0 || out.trim > 0 {
		line = line.Sub(in.trim, line.Length()-out.trim)
	}
	pts := slices.Clone(line.Points)
	joinedIn, joinedOut := m.mate[e] >= 0, m.mate[e^1] >= 0
	if joinedIn && !in.bridged {
		pts[0] = in.at
	}
	if joinedOut && !out.bridged {
		pts[len(pts)-1] = out.at
	}
	for i, p := range pts {
		join := i == 0 && joinedIn || i == len(pts)-1 && joinedOut
		if i == 0 && len(w.pts) > 0 && joinedIn && !in.bridged {
			continue
		}
		w.pts, w.joins = append(w.pts, p), append(w.joins, join)
		w.corners = append(w.corners, line.Corner(i))
	}
	w.bridged = joinedOut && out.bridged
}

// finish gives the woven path with its corners settled.
func (w *weave) finish(closed bool) geom.Path {
	n := len(w.pts)
	if closed && !w.bridged && n > 1 {
		n-- // the last point is the first one again
		w.pts, w.corners, w.joins = w.pts[:n], w.corners[:n], w.joins[:n]
	}
	p := geom.Path{Points: w.pts, Corners: w.corners, Closed: closed}
	if w.soft {
		marked := geom.MarkCorners(p, cornerTurn)
		for i, join := range w.joins {
			if join {
				p.Corners[i] = marked.Corner(i)
			}
		}
	}
	return dropStraight(p, w.joins)
}

// dropStraight takes out the vertices at joins where the line runs straight on, and points that lie
// on the one before them.
func dropStraight(p geom.Path, joins []bool) geom.Path {
	n := len(p.Points)
	q := geom.Path{Closed: p.Closed}
	for i, pt := range p.Points {
		inner := p.Closed || i > 0 && i < n-1
		if inner && joins[i] && n > 3 {
			a, b := p.Points[(i+n-1)%n], p.Points[(i+1)%n]
			u, v := geom.Sub(pt, a), geom.Sub(b, pt)
			if geom.Norm(u) < geom.Tiny {
				continue
			}
			if geom.Dot(u, v) > 0 && math.Abs(geom.Cross(u, v)) <= straightTol*geom.Norm(geom.Add(u, v)) {
				continue
			}
		}
		q.Points, q.Corners = append(q.Points, pt), append(q.Corners, p.Corners[i])
	}
	if !slices.Contains(q.Corners, false) {
		q.Corners = nil
	}
	return q
}

// settleClosed brings a closed path into its one form: counter-clockwise, the first point not
// repeated, beginning at its lowest corner, of these the leftmost.
func settleClosed(p geom.Path) geom.Path {
	n := len(p.Points)
	for n > 1 && geom.Dist(p.Points[0], p.Points[n-1]) < geom.Tiny {
		n--
	}
	p.Points = p.Points[:n]
	if p.Corners != nil {
		p.Corners = p.Corners[:n]
	}
	p = p.CounterClockwise()
	start, corner := 0, false
	for i := range p.Points {
		c := p.Corner(i)
		switch {
		case c && !corner:
			start, corner = i, true
		case c == corner && comparePoints(p.Points[i], p.Points[start]) < 0:
			start = i
		}
	}
	q := geom.Path{Closed: true, Points: append(slices.Clone(p.Points[start:]), p.Points[:start]...)}
	if p.Corners != nil {
		q.Corners = append(slices.Clone(p.Corners[start:]), p.Corners[:start]...)
	}
	return q
}

// sortStrands brings lines into an order that does not depend on that of the file.
func sortStrands(s []strand) {
	slices.SortStableFunc(s, func(a, b strand) int {
		ba, bb := a.path.Bound(), b.path.Bound()
		if c := comparePoints(orb.Point{ba.Min[0], -ba.Max[1]}, orb.Point{bb.Min[0], -bb.Max[1]}); c != 0 {
			return c
		}
		return comparePoints(bb.Max, ba.Max)
	})
}
