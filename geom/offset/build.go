// Package offset moves the edges of a closed outline outward or inward, each by its own width, with
// the corners that the trade cuts: it builds the cut line of a sew line. It takes a path, the widths
// and the kinds of corner, and gives closed rings that know from which edge each stretch came.
package offset

import (
	"fmt"
	"math"
	"sync"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// Build builds the cut line of a sew line: the boundary of the outline united with one strip for
// each stretch, as wide as its edge says, and one wedge for each corner that opens. Inward, the
// strips are taken away instead. The outline is closed, runs either way and does not cross itself.
// Edges are in the order of First; vertices before the first edge's belong to the last edge. limit
// is at least 1.
//
// The result has an outer ring (counter-clockwise) for each part it falls into and a ring marked
// Hole (clockwise) for each gap that closed over; it is empty where nothing is left. Its vertices
// are within AllowanceTol of the exact line.
func Build(outline geom.Path, edges []Edge, limit float64) ([]Ring, error) {
	inward, err := check(outline, edges, limit)
	if err != nil {
		return nil, err
	}
	o := offsetters.Get().(*offsetter)
	defer offsetters.Put(o)
	if !o.take(outline, edges, limit, inward) {
		return nil, fmt.Errorf("the outline has no area to put an allowance round")
	}
	if err := o.checkTapers(); err != nil {
		return nil, err
	}
	raw := o.rawLine()
	// Lines that run on each other within rounding can defeat a weld of one width; another width
	// then sorts them. All of them are far below AllowanceTol.
	for _, weld := range []float64{1e-7, 1.7e-6, 2.3e-8, 1.3e-5, 1e-4} {
		if rings, ok := cleanRaw(raw, &o.clean, weld, inward); ok {
			return o.finish(rings), nil
		}
	}
	return nil, fmt.Errorf("the allowance crosses itself in a way that cannot be sorted out; change a width by some hundredths of a millimetre")
}

func check(outline geom.Path, edges []Edge, limit float64) (inward bool, err error) {
	n := len(outline.Points)
	switch {
	case !outline.Closed || n < 3:
		return false, fmt.Errorf("an allowance needs a closed outline of three points or more")
	case len(edges) == 0:
		return false, fmt.Errorf("an allowance needs a width for at least one edge")
	case !(limit >= 1):
		return false, fmt.Errorf("a corner limit of %g is below 1, which would cut into the seam", limit)
	}
	for i, pt := range outline.Points {
		if !finite(pt[0]) || !finite(pt[1]) {
			return false, fmt.Errorf("point %d of the outline is not a place", i)
		}
	}
	var outward bool
	for i, e := range edges {
		switch {
		case e.First < 0 || e.First >= n || i > 0 && e.First <= edges[i-1].First:
			return false, fmt.Errorf("edge %d begins at point %d, which is out of order", i, e.First)
		case !finite(e.From) || !finite(e.To):
			return false, fmt.Errorf("the width of edge %d is not a number", i)
		case e.Limit != 0 && !(e.Limit >= 1):
			return false, fmt.Errorf("the corner limit of edge %d is below 1, which would cut into the seam", i)
		}
		inward = inward || e.From < 0 || e.To < 0
		outward = outward || e.From > 0 || e.To > 0
	}
	if inward && outward {
		return false, fmt.Errorf("some widths go inward and some outward: build them one after the other")
	}
	return inward, nil
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// offsetter holds an outline that runs so that its strips lie to the right: counter-clockwise
// outward, clockwise inward. An outline that runs the other way is mirrored, which keeps the order
// of vertices and edges, and mirrored back at the end. Coordinates are taken from the middle.
type offsetter struct {
	edges  []Edge
	limit  float64
	inward bool
	mirror bool
	centre orb.Point
	even   bool // one width all round
	pts    []orb.Point
	smooth []bool
	sides  []side
	owner  []int
	raw    rawLine
	clean  graph
}

// offsetters keeps the working memory of one call for the next; nothing of it leaves Build.
var offsetters = sync.Pool{New: func() any { return new(offsetter) }}

// side is one stretch of the outline and the line it is moved to.
type side struct {
	a, n    orb.Point // direction and the normal to the right
	len     float64
	edge    int
	w0, w1  float64   // widths at both ends
	p0, p1  orb.Point // the ends moved square to the line
	opening bool      // the corner at its start opens
	first   bool      // an edge begins at its start
	turn    float64   // tangent of half the closing turn at its start
	// trim0 and trim1 tell that the strip ends along the bisector of the closing corner there.
	trim0, trim1 bool
}

// take fills in an outline; false where it has no area.
func (o *offsetter) take(outline geom.Path, edges []Edge, limit float64, inward bool) bool {
	o.edges, o.limit, o.inward, o.even = edges, limit, inward, true
	o.pts, o.smooth, o.sides = o.pts[:0], o.smooth[:0], o.sides[:0]
	area := outline.SignedArea()
	if area == 0 {
		return false
	}
	o.mirror = (area < 0) != inward
	o.centre = orb.MultiPoint(outline.Points).Bound().Center()
	for _, e := range edges {
		o.even = o.even && e.From == edges[0].From && e.To == e.From
	}
	o.owner = edgeOfVertex(o.owner[:0], len(outline.Points), edges)
	owner := o.owner
	keep := o.thinned(outline, owner)
	o.load(outline, keep)
	if len(o.pts) < 3 {
		return false
	}
	o.measure()
	return true
}

// load copies the vertices to use (all where keep is nil), without doubled ones and those on
// straight stretches.
func (o *offsetter) load(outline geom.Path, keep []int) {
	count := len(keep)
	if keep == nil {
		count = len(outline.Points)
	}
	vertex := func(j int) int {
		if keep == nil {
			return j
		}
		return keep[j]
	}
	next := o.in(outline.Points[vertex(0)])
	for j := range count {
		i, pt := vertex(j), next
		if j+1 < count {
			next = o.in(outline.Points[vertex(j+1)])
		}
		k := len(o.pts)
		first := isFirst(i, o.owner, o.edges)
		if k > 0 && near(pt, o.pts[k-1], 1e-7) {
			if first {
				o.sides[k-1].edge, o.sides[k-1].first = o.owner[i], true
			}
			continue
		}
		if k > 0 && j+1 < count && !first && onStraight(o.pts[k-1], pt, next) {
			continue
		}
		o.pts = append(o.pts, pt)
		o.smooth = append(o.smooth, !first && !outline.Corner(i))
		o.sides = append(o.sides, side{edge: o.owner[i], first: first})
	}
	for k := len(o.pts); k > 1 && near(o.pts[k-1], o.pts[0], 1e-7); k = len(o.pts) {
		o.sides[0].first = o.sides[0].first || o.sides[k-1].first
		o.pts, o.smooth, o.sides = o.pts[:k-1], o.smooth[:k-1], o.sides[:k-1]
	}
}

func (o *offsetter) in(p orb.Point) orb.Point {
	p = geom.Sub(p, o.centre)
	if o.mirror {
		p[0] = -p[0]
	}
	return p
}

func (o *offsetter) out(p orb.Point) orb.Point {
	if o.mirror {
		p[0] = -p[0]
	}
	return geom.Add(p, o.centre)
}

// edgeOfVertex tells for each vertex to which edge the stretch from it belongs.
func edgeOfVertex(owner []int, n int, edges []Edge) []int {
	e := len(edges) - 1
	next := 0
	for i := range n {
		if next < len(edges) && edges[next].First == i {
			e = next
			next++
		}
		owner = append(owner, e)
	}
	return owner
}

func isFirst(i int, owner []int, edges []Edge) bool {
	return edges[owner[i]].First == i && len(edges) > 1
}

// denseCount is the number of vertices from which an outline is thinned before it is moved, to
// thinOffsetTol: a draft seldom has so many, a traced or scanned line does, and what it gains is a
// tenth of the time.
const (
	denseCount    = 2000
	thinOffsetTol = geom.AllowanceTol / 8
)

// thinned are the vertices to use, all of them where nil.
func (o *offsetter) thinned(outline geom.Path, owner []int) []int {
	if len(outline.Points) < denseCount {
		return nil
	}
	must := func(i int) bool { return isFirst(i, owner, o.edges) }
	return geom.ThinIndices(outline.Points, true, must, thinOffsetTol)
}

// measure fills in the sides: directions, widths, moved lines.
func (o *offsetter) measure() {
	n := len(o.pts)
	sign := 1.0
	if o.inward {
		sign = -1
	}
	lengths := make([]float64, len(o.edges))
	for i := range o.sides {
		s := &o.sides[i]
		d := geom.Sub(o.pts[(i+1)%n], o.pts[i])
		s.len = geom.Norm(d)
		s.a = geom.Mul(d, 1/s.len)
		s.n = orb.Point{s.a[1], -s.a[0]}
		lengths[s.edge] += s.len
	}
	start := 0
	for i := range o.sides {
		if o.sides[i].first {
			start = i
			break
		}
	}
	var run float64
	for k := range n {
		s := &o.sides[(start+k)%n]
		if s.first {
			run = 0
		}
		e := o.edges[s.edge]
		from, to := sign*e.From, sign*e.To
		s.w0 = from + (to-from)*run/lengths[s.edge]
		run += s.len
		s.w1 = from + (to-from)*run/lengths[s.edge]
	}
	for i := range o.sides {
		s := &o.sides[i]
		s.p0 = geom.Add(o.pts[i], geom.Mul(s.n, s.w0))
		s.p1 = geom.Add(o.pts[(i+1)%n], geom.Mul(s.n, s.w1))
	}
}

// checkTapers refuses a width that changes by more than itself within itself: the cut line would
// be more across than along.
func (o *offsetter) checkTapers() error {
	lengths := make([]float64, len(o.edges))
	for _, s := range o.sides {
		lengths[s.edge] += s.len
	}
	for i, e := range o.edges {
		if math.Abs(e.To-e.From) > lengths[i]+1e-9 {
			return fmt.Errorf("the allowance of edge %d changes from %g to %g mm within %v mm: split the edge and make a step", i, e.From, e.To, geom.Rounded(lengths[i], 1))
		}
	}
	return nil
}
