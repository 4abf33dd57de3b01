// Package warp moves lines of a ring of edges as a fitting moves them: a seam outward or inward, a strip across taken
// out or put in. It takes rings and gives new ones, with what brings a drawn point onto them, and knows no draft.
package warp

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
)

// warpParts is into how many parts a stretch of a moved edge is divided at most, of which each is drawn as a cubic that
// leaves and arrives as the moved edge does: within 0.01 mm of it for seams of a garment.
const warpParts = 8

// partsOf is into how many parts a stretch of an edge is divided by its share of the edge: what one fitting divided
// the next one does not divide again, else each would make an edge of eight times as many.
func partsOf(share float64) int {
	return int(min(warpParts, max(1, math.Ceil(2*warpParts*share-1e-9))))
}

// moved draws an edge in so many parts, whose places at(t), t from 0 to 1, are known.
func moved(parts int, at func(t float64) orb.Point) curve.Curve {
	const step = 1e-4
	way := func(t float64) orb.Point { // by the length of t
		a, b := math.Max(0, t-step), math.Min(1, t+step)
		return geom.Mul(geom.Sub(at(b), at(a)), 1/(b-a))
	}
	var out curve.Curve
	for k := range parts {
		t0, t1 := float64(k)/float64(parts), float64(k+1)/float64(parts)
		a, b := at(t0), at(t1)
		h := (t1 - t0) / 3
		out = append(out, curve.CubicSeg(a, geom.Add(a, geom.Mul(way(t0), h)), geom.Sub(b, geom.Mul(way(t1), h)), b))
	}
	return out
}

// even rises from 0 to 1 and leaves and arrives level, so that a seam that is moved to nothing runs on without a corner.
func even(t float64) float64 {
	t = math.Min(1, math.Max(0, t))
	return t * t * (3 - 2*t)
}

// Knot is by how much a seam is moved at a place of it.
type Knot struct{ At, By float64 }

// profile is how far a seam is moved at a length along it.
func profile(knots []Knot, l float64) float64 {
	if l <= knots[0].At {
		return knots[0].By
	}
	for i, k := range knots[1:] {
		if l <= k.At {
			return knots[i].By + (k.By-knots[i].By)*even((l-knots[i].At)/(k.At-knots[i].At))
		}
	}
	return knots[len(knots)-1].By
}

// Seam is a seam within a ring of edges: the numbers of its edges in the ring's order.
type Seam struct {
	Ring  []curve.Edge
	Edges []int
}

// SeamIn finds the named edges in a ring and puts them in its order, beginning behind the longest stretch without them.
func SeamIn(ring []curve.Edge, names []string) Seam {
	n := len(ring)
	in := func(i int) bool { return slices.Contains(names, ring[(i+n)%n].Name) }
	first, longest := -1, -1
	for i := range n {
		gap := 0
		for ; gap < n && !in(i-1-gap); gap++ {
		}
		if in(i) && gap > longest {
			first, longest = i, gap
		}
	}
	s := Seam{Ring: ring}
	for k := 0; first >= 0 && k < n; k++ {
		if in(first + k) {
			s.Edges = append(s.Edges, (first+k)%n)
		}
	}
	return s
}

// Length is how long the seam is; of an edge, from where it begins.
func (s Seam) Length(before int) float64 {
	sum := 0.0
	for _, i := range s.Edges[:before] {
		sum += s.Ring[i].Curve.Length()
	}
	return sum
}

// besideSeam is which part of its length a point may lie beside a seam and still be a place of it: a corner that is softened or
// rounded lies a little off the line.
const besideSeam = 1.0 / 50

// Place is how far along the seam a point lies, -1 where it does not lie on it.
func (s Seam) Place(q orb.Point) float64 {
	for k, i := range s.Edges {
		if l := curve.NearestOn(s.Ring[i].Curve, q); l >= 0 {
			return s.Length(k) + l
		}
	}
	const steps = 400 // along each edge
	at, near := -1.0, besideSeam*s.Length(len(s.Edges))
	for k, i := range s.Edges {
		whole := s.Ring[i].Curve.Length()
		for n := 0; n <= steps; n++ {
			l := whole * float64(n) / steps
			p, _ := s.Ring[i].Curve.At(l)
			if away := geom.Dist(p, q); away < near {
				at, near = s.Length(k)+l, away
			}
		}
	}
	return at
}

// shift moves a seam of a ring.
type shift struct {
	Seam
	knots   []Knot
	whole   float64 // how long the seam is
	outward float64 // 1 or -1, by the left of the ring's direction
	ends    [2]orb.Point
	out     []curve.Edge
	corners [][2]orb.Point // those of the seam: where each was, and is
}

// Shifted moves a seam outward by what the knots say. Where it is moved at its end, the edge beside is carried on as it
// arrives there, or cut short. It gives the ring and what brings a point of it along; false where the seam meets the edge
// beside it too flat, or that edge is too short.
func (s Seam) Shifted(knots []Knot) (ring []curve.Edge, carry func(q orb.Point) orb.Point, ok bool) {
	n, last := len(s.Ring), len(s.Edges)-1
	m := &shift{Seam: s, knots: knots, whole: s.Length(last + 1), outward: -curve.Orientation(s.Ring), out: slices.Clone(s.Ring)}
	first, end := s.Ring[s.Edges[0]].Curve[0], s.Ring[s.Edges[last]].Curve
	if !m.slide(0, first.From, first.Dir(0), 0, (s.Edges[0]+n-1)%n) ||
		!m.slide(1, end.End(), end[len(end)-1].Dir(1), m.whole, (s.Edges[last]+1)%n) {
		return nil, nil, false
	}
	for k, i := range s.Edges {
		m.out[i].Curve = m.edge(s.Ring[i].Curve, s.Length(k))
	}
	for k := range last { // what lies between two edges of the seam, as the mouth of a dart does, goes with both
		next := s.Edges[k+1]
		if (s.Edges[k]+1)%n == next {
			m.close(m.out[s.Edges[k]].Curve, m.out[next].Curve, s.Ring[next].Curve.Start())
		}
		for i := (s.Edges[k] + 1) % n; i != next; i = (i + 1) % n {
			m.out[i].Curve = between(s.Ring[i].Curve, m.out[(i+n-1)%n].Curve.End(), m.out[next].Curve.Start())
		}
	}
	return m.out, m.carry, true
}

// slide makes the edge beside one end of the seam end where the seam now does, and keeps by how much that end slides
// along the seam for it.
func (m *shift) slide(end int, corner, along orb.Point, l float64, beside int) bool {
	by := profile(m.knots, l)
	if math.Abs(by) < 1e-9 {
		return true
	}
	away := m.Ring[beside].Curve // from the seam on
	if end == 0 {
		away = away.Reversed()
	}
	normal, on := geom.Mul(geom.Left(along), m.outward), geom.Mul(away[0].Dir(0), -1)
	const flat = 0.3 // some 17 degrees
	across := geom.Dot(on, normal)
	reach := by / across
	if math.Abs(across) < flat || -reach >= away.Length() {
		return false
	}
	to := geom.Add(corner, geom.Mul(on, reach))
	if first := away[0]; reach > 0 && !first.Cubic && !first.IsArc() { // a straight edge stays one line, as a fold must be
		first.From = to
		away = append(curve.Curve{first}, away[1:]...)
	} else if reach > 0 {
		away = append(curve.Curve{curve.LineSeg(to, corner)}, away...)
	} else {
		at := away.PlaceAt(-reach)
		to = away[at.Index].At(at.T)
		away = away.Between(at, curve.Place{Index: len(away) - 1, T: 1})
	}
	if end == 0 {
		away = away.Reversed()
	}
	m.out[beside].Curve = away
	m.ends[end] = geom.Sub(geom.Sub(to, corner), geom.Mul(normal, by))
	return true
}

// place is where a point of the seam goes that lies so far along it.
func (m *shift) place(q, dir orb.Point, l float64) orb.Point {
	q = geom.Add(q, geom.Mul(geom.Left(dir), m.outward*profile(m.knots, l)))
	q = geom.Add(q, geom.Mul(m.ends[0], 1-even(2*l/m.whole)))
	return geom.Add(q, geom.Mul(m.ends[1], 1-even(2*(m.whole-l)/m.whole)))
}

func (m *shift) edge(c curve.Curve, from float64) curve.Curve {
	var out curve.Curve
	whole := c.Length()
	for k, g := range c {
		next := moved(partsOf(g.Length()/whole), func(t float64) orb.Point {
			return m.place(g.At(t), g.Dir(t), from+g.Part(0, math.Max(t, 1e-12)).Length())
		})
		if k > 0 && geom.Dist(c[k-1].To, g.From) < 1e-7 { // else the mouth of a dart lies between
			m.close(out, next, g.From)
		}
		out = append(out, next...)
		from += g.Length()
	}
	return out
}

// close brings what comes before a corner of the seam and what follows to one point: the two are carried on, or cut short, to
// where they meet.
func (m *shift) close(before, after curve.Curve, corner orb.Point) {
	a, b := &before[len(before)-1], &after[0]
	gap := geom.Dist(a.To, b.From)
	if gap < 1e-9 {
		return
	}
	at, _, _, ok := geom.MeetLines(a.To, a.Dir(1), b.From, b.Dir(0))
	if !ok || geom.Dist(at, a.To) > 5*gap {
		at = geom.Lerp(a.To, b.From, 0.5)
	}
	*a, *b = a.Between(a.From, at), b.Between(at, b.To)
	m.corners = append(m.corners, [2]orb.Point{corner, at})
}

// besideMoved is how far from a moved edge a place of it may be worked out, in the draft's unit: the edge passes near it.
const besideMoved = 0.1

func (m *shift) carry(q orb.Point) orb.Point {
	for _, c := range m.corners {
		if geom.Dist(c[0], q) < 1e-7 {
			return c[1]
		}
	}
	for k, i := range m.Edges {
		if l := curve.NearestOn(m.Ring[i].Curve, q); l >= 0 {
			at, dir := m.Ring[i].Curve.At(l)
			_, on := curve.OnWithin(m.out[i].Curve, m.place(at, dir, m.Length(k)+l), besideMoved)
			return on
		}
	}
	return q
}

// between is a curve carried to new ends: turned, and longer or shorter as their distance is.
func between(c curve.Curve, a, b orb.Point) curve.Curve { return c.Apply(EndsTo(c, a, b)) }

// EndsTo turns and stretches a curve so that it runs from a to b.
func EndsTo(c curve.Curve, a, b orb.Point) geom.Affine {
	was, is := geom.Sub(c.End(), c.Start()), geom.Sub(b, a)
	k := math.Hypot(is[0], is[1]) / math.Hypot(was[0], was[1])
	turn := geom.Rotate(math.Atan2(geom.Cross(was, is), geom.Dot(was, is)))
	start := c.Start()
	return geom.Translate(a[0], a[1]).After(geom.Scale(k, k)).After(turn).After(geom.Translate(-start[0], -start[1]))
}

// Fold takes a strip across a drawing out, or puts one in: by deep at one side, to nothing at the other, its lower edge
// level with a place. The parts below it go up or down by as much.
type Fold struct {
	Level      float64
	From, None float64 // how far out it is deepest, and nothing
	By         float64 // taken out; less than 0 is put in
}

func (f Fold) deep(x float64) float64 { return f.By * (1 - even((x-f.From)/(f.None-f.From))) }

// OpensCorner is the edge at whose start a strip that is put in would part two edges, -1 for none.
func (f Fold) OpensCorner(ring []curve.Edge) int {
	return slices.IndexFunc(ring, func(e curve.Edge) bool {
		q := e.Curve.Start()
		return math.Abs(q[1]-f.Level) < 1e-9 && f.deep(q[0]) < -1e-3
	})
}

func (f Fold) carry(q orb.Point) orb.Point {
	d := f.deep(q[0])
	switch {
	case q[1] >= f.Level-1e-9:
		return orb.Point{q[0], q[1] - d}
	case d > 0 && q[1] > f.Level-d:
		return orb.Point{q[0], f.Level - d} // within the strip
	}
	return q
}

// edge is a curve without the strip: the part above it stays, the part below is moved.
func (f Fold) edge(c curve.Curve) curve.Curve {
	var out curve.Curve
	whole := c.Length()
	for _, g := range c {
		cuts := []float64{0, 1}
		for _, bound := range []func(q orb.Point) float64{
			func(q orb.Point) float64 { return q[1] - f.Level },
			func(q orb.Point) float64 { return q[1] - f.Level + math.Max(0, f.deep(q[0])) },
		} {
			cuts = append(cuts, crossings(func(t float64) float64 { return bound(g.At(t)) })...)
		}
		slices.Sort(cuts)
		for i := range cuts[1:] {
			t0, t1 := cuts[i], cuts[i+1]
			mid := g.At((t0 + t1) / 2)
			switch d := f.deep(mid[0]); {
			case t1-t0 < 1e-9:
			case mid[1] > f.Level:
				part := g.Part(t0, t1)
				a, b := f.deep(part.From[0]), f.deep(part.To[0])
				if math.Abs(a-b) < 1e-9 && math.Abs(a-d) < 1e-9 { // plumb, or beside the strip
					out = append(out, part.Apply(geom.Translate(0, -a)))
				} else {
					out = append(out, moved(partsOf(part.Length()/whole), func(t float64) orb.Point { return f.carry(part.At(t)) })...)
				}
			case d <= 0 || mid[1] <= f.Level-d:
				out = append(out, g.Part(t0, t1))
			}
		}
	}
	return joined(out)
}

// joined joins what lies above and below a strip: across one that is put in, and straight lines to one.
func joined(c curve.Curve) curve.Curve {
	var out curve.Curve
	put := func(g curve.Segment) {
		if k := len(out) - 1; k >= 0 && straight(out[k]) && straight(g) && math.Abs(geom.Cross(out[k].Dir(1), g.Dir(0))) < 1e-9 {
			out[k] = curve.LineSeg(out[k].From, g.To)
			return
		}
		out = append(out, g)
	}
	for i, g := range c {
		if i > 0 && geom.Dist(c[i-1].To, g.From) > 1e-9 {
			put(curve.LineSeg(c[i-1].To, g.From))
		}
		put(g)
	}
	return out
}

func straight(g curve.Segment) bool { return !g.Cubic && !g.IsArc() }

// crossings are where a function of 0 to 1 changes its sign.
func crossings(f func(t float64) float64) []float64 {
	const steps = 64
	var out []float64
	for k := range steps {
		lo, hi := float64(k)/steps, float64(k+1)/steps
		a, b := f(lo), f(hi)
		if (a < 0) == (b < 0) {
			continue
		}
		_, hi = geom.Halve(lo, hi, 50, func(v float64) bool { return (f(v) < 0) == (a < 0) })
		out = append(out, hi)
	}
	return out
}

// Folded is a ring of which a strip is taken out; false where it takes an edge altogether.
func (f Fold) Folded(ring []curve.Edge) ([]curve.Edge, func(q orb.Point) orb.Point, bool) {
	out := slices.Clone(ring)
	for i := range out {
		if out[i].Curve = f.edge(ring[i].Curve); len(out[i].Curve) == 0 {
			return nil, nil, false
		}
	}
	return out, f.carry, true
}
