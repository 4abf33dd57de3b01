package offset

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// The checks in this file hold Build against the union it stands for, written here a second time
// and the slow way: a list of polygons (the outline, a strip for each stretch, a wedge for each
// opening corner), and a place is covered when any of them holds it. Nothing is shared with the
// code under test but points and paths.

// unionOf lists the polygons by the wording of the corner rules: a mitre where the meeting point of
// both cut lines lies past the corner seen from both edges and within limit times the larger
// width; else a step square to the wider edge, or a cut square to the tip's direction.
type unionOf struct {
	polys []geom.Path
	boxes []orb.Bound
	// inward: the first polygon, the outline, covers what lies outside it, and runs clockwise.
	inward bool
}

func (u *unionOf) add(pts ...orb.Point) {
	p := geom.Path{Points: pts, Closed: true}
	u.polys = append(u.polys, p)
	u.boxes = append(u.boxes, orb.MultiPoint(pts).Bound())
}

func (u *unionOf) covers(q orb.Point) bool {
	for i, p := range u.polys {
		in := u.boxes[i].Contains(q) && p.Contains(q)
		if in != (u.inward && i == 0) {
			return true
		}
	}
	return false
}

type widths struct{ from, to float64 }

// buildUnion makes the polygons of a counter-clockwise outline of corners, one width pair a
// stretch; inward of a clockwise one.
func buildUnion(pts []orb.Point, w []widths, limit float64) *unionOf {
	n := len(pts)
	u := &unionOf{inward: geom.Path{Points: pts, Closed: true}.SignedArea() < 0}
	u.add(pts...)
	normal := func(i int) (dir, nor orb.Point) {
		d := geom.Unit(geom.Sub(pts[(i+1)%n], pts[i]))
		return d, orb.Point{d[1], -d[0]}
	}
	for i := range n {
		_, nor := normal(i)
		a, b := pts[i], pts[(i+1)%n]
		u.add(a, geom.Add(a, geom.Mul(nor, w[i].from)), geom.Add(b, geom.Mul(nor, w[i].to)), b)
	}
	for i := range n {
		h := (i + n - 1) % n
		da, na := normal(h)
		db, nb := normal(i)
		if geom.Cross(da, db) <= 0 {
			continue
		}
		v, p, q := pts[i], w[h].to, w[i].from
		pe, qs := geom.Add(v, geom.Mul(na, p)), geom.Add(v, geom.Mul(nb, q))
		ta := geom.Sub(pe, geom.Add(pts[h], geom.Mul(na, w[h].from)))
		tb := geom.Sub(geom.Add(pts[(i+1)%n], geom.Mul(nb, w[i].to)), qs)
		u.wedge(v, pe, qs, geom.Unit(ta), geom.Unit(tb), da, db, p, q, limit*math.Max(p, q))
	}
	return u
}

func (u *unionOf) wedge(v, pe, qs, ta, tb, da, db orb.Point, p, q, most float64) {
	k := geom.Cross(geom.Sub(qs, pe), tb) / geom.Cross(ta, tb)
	tip := geom.Add(pe, geom.Mul(ta, k))
	past := geom.Dot(geom.Sub(tip, v), da) >= 0 && geom.Dot(geom.Sub(tip, v), db) <= 0
	switch {
	case past && geom.Dist(tip, v) <= most:
		u.add(v, pe, tip, qs)
	case past:
		u.cutWedge(v, pe, ta, qs, tb, geom.Unit(geom.Sub(tip, v)), most)
	case k < 0 && geom.Dot(geom.Sub(tip, qs), tb) > 0 && geom.Dot(da, db) < 0:
		// Tapering cut lines that run apart at a sharp corner: cut towards where parallels would meet.
		na, nb := orb.Point{da[1], -da[0]}, orb.Point{db[1], -db[0]}
		c := geom.Dot(na, nb)
		u.cutWedge(v, pe, ta, qs, tb, geom.Unit(geom.Add(geom.Mul(na, p-q*c), geom.Mul(nb, q-p*c))), most)
	case math.Abs(p-q) < 1e-9:
		u.add(v, pe, qs)
	case p < q: // on along the narrow cut line to the square through v on the wide edge
		u.step(v, pe, ta, qs, q)
	default:
		u.step(v, qs, tb, pe, p)
	}
}

// cutWedge adds the wedge between two cut lines as far as most mm from v in direction dir.
func (u *unionOf) cutWedge(v, pe, ta, qs, tb, dir orb.Point, most float64) {
	to := func(from, along orb.Point) orb.Point {
		return geom.Add(from, geom.Mul(along, (most-geom.Dot(geom.Sub(from, v), dir))/geom.Dot(along, dir)))
	}
	u.add(v, pe, to(pe, ta), to(qs, tb), qs)
}

// step adds the wedge between the end of the narrow strip, whose cut line runs along dir, and the
// end of the wide one; where there is nothing to step the ends are joined straight.
func (u *unionOf) step(v, narrow, dir, wide orb.Point, width float64) {
	out := geom.Unit(geom.Sub(wide, v))
	x := geom.Add(narrow, geom.Mul(dir, geom.Cross(geom.Sub(v, narrow), out)/geom.Cross(dir, out)))
	if h := geom.Dot(geom.Sub(x, v), out); h >= 0 && h <= width {
		u.add(v, narrow, x, wide)
	} else {
		u.add(v, narrow, wide)
	}
}

// edgeNear looks for covered and bare ground within tol of a place, where the union runs to a thin
// point and a step square to one side overshoots the other.
func (u *unionOf) edgeNear(q orb.Point, tol float64) bool {
	var covered, bare bool
	for _, r := range []float64{1, 0.5, 0.25, 0.1, 0.05} {
		for k := range 64 {
			sin, cos := math.Sincos(float64(k) * math.Pi / 32)
			if u.covers(geom.Add(q, orb.Point{r * tol * cos, r * tol * sin})) {
				covered = true
			} else {
				bare = true
			}
		}
	}
	return covered && bare
}

// boundaryGap compares rings with the union's boundary: each place of the rings must have covered
// ground within tol on the inside and bare ground within tol on the outside; and each place on a
// polygon's side with bare ground beside it must lie within tol of a ring. It tells the first
// place where that is not so.
func (u *unionOf) boundaryGap(rings []Ring, tol float64) error {
	var lines []geom.Path
	for _, r := range rings {
		lines = append(lines, r.Path)
		for i := range r.Path.Segments() {
			a, b := r.Path.Segment(i)
			l := geom.Dist(a, b)
			if l < 60*tol {
				continue
			}
			out := geom.Mul(geom.Unit(geom.Sub(b, a)), tol)
			out = orb.Point{out[1], -out[0]}
			if u.inward {
				out = geom.Mul(out, -1)
			}
			for _, t := range []float64{20 * tol / l, 0.31, 0.77, 1 - 20*tol/l} {
				q := geom.Lerp(a, b, t)
				if (!u.covers(geom.Sub(q, out)) || u.covers(geom.Add(q, out))) && !u.edgeNear(q, tol) {
					return fmt.Errorf("ring point (%.4f, %.4f) of edge %d is not on the union's boundary", q[0], q[1], r.Edge[i])
				}
			}
		}
	}
	ix := geom.NewIndex(lines...)
	for k, p := range u.polys {
		for i := range p.Segments() {
			a, b := p.Segment(i)
			l := geom.Dist(a, b)
			if l < 60*tol {
				continue
			}
			out := geom.Mul(geom.Unit(geom.Sub(b, a)), tol)
			out = orb.Point{out[1], -out[0]}
			for _, t := range []float64{20 * tol / l, 0.13, 0.37, 0.5, 0.71, 0.93, 1 - 20*tol/l} {
				q := geom.Lerp(a, b, t)
				// Bare on one side and covered on the other: a piece of boundary.
				if u.covers(geom.Add(q, out)) || !u.covers(geom.Sub(q, out)) {
					continue
				}
				if _, n := ix.Nearest(q); !(n.Dist <= 2*tol) {
					return fmt.Errorf("boundary (%.4f, %.4f) of polygon %d has no ring within %.4f (nearest %.4f)", q[0], q[1], k, 2*tol, n.Dist)
				}
			}
		}
	}
	return nil
}

// garment is a random outline in the manner of a bodice or a skirt: a box with slanted sides, a
// scooped neck and an armhole, perhaps a dart, and a few loose corners.
func garment(rng *rand.Rand) []orb.Point {
	u := func(lo, hi float64) float64 { return lo + rng.Float64()*(hi-lo) }
	w, h := u(80, 300), u(120, 600)
	pts := []orb.Point{{u(-20, 20), 0}}
	if rng.IntN(2) == 0 { // a dart from the hem
		x, m, d := u(0.3, 0.6)*w, u(6, 40), u(30, h/2)
		pts = append(pts, orb.Point{x - m/2, 0}, orb.Point{x + u(-8, 8), d}, orb.Point{x + m/2, 0})
	}
	pts = append(pts, orb.Point{w + u(-30, 30), u(-15, 15)})
	arm := u(0.55, 0.8) * h
	pts = append(pts, orb.Point{w + u(-10, 25), arm})
	curve := geom.FlattenCubic(nil, orb.Point{w, arm + 1}, orb.Point{w - u(30, 60), arm + u(-10, 10)},
		orb.Point{w - u(20, 60), h - 20}, orb.Point{w - u(10, 30), h - u(0, 12)}, u(0.02, 1))
	pts = append(pts, curve...)
	neck := u(0.25, 0.5) * w
	pts = append(pts, orb.Point{neck, h + u(4, 25)})
	pts = append(pts, geom.FlattenCubic(nil, orb.Point{neck, h + 3}, orb.Point{neck - 3, h - u(10, 60)},
		orb.Point{neck / 2, h - u(20, 80)}, orb.Point{u(-5, 5), h - u(20, 80)}, u(0.02, 1))...)
	if rng.IntN(3) == 0 { // a notch out of the front
		y, d := u(0.2, 0.4)*h, u(5, 40)
		pts = append(pts, orb.Point{0, y + u(4, 30)}, orb.Point{d, y + u(0, 4)}, orb.Point{u(-3, 3), y - u(1, 20)})
	}
	return pts
}

// randomEdges gives each stretch of an outline between real corners a width; some taper, some are 0.
func randomEdges(rng *rand.Rand, pts []orb.Point) ([]Edge, []widths) {
	n := len(pts)
	outline := geom.MarkCorners(geom.Path{Points: pts, Closed: true}, 0.4)
	var edges []Edge
	for i := range n {
		if outline.Corners[i] || i == 0 {
			w := []float64{0, 6, 10, 10, 15, 15, 20, 40}[rng.IntN(8)]
			edges = append(edges, Edge{First: i, From: w, To: w})
		}
	}
	per := make([]widths, n)
	for k := range edges {
		e := &edges[k]
		end := n
		if k+1 < len(edges) {
			end = edges[k+1].First
		}
		stretch := geom.Path{Points: append([]orb.Point(nil), pts[e.First:end]...)}
		stretch.Points = append(stretch.Points, pts[end%n])
		l := stretch.Length()
		if rng.IntN(4) == 0 && l > 45 {
			e.To = []float64{0, 6, 15, 20}[rng.IntN(4)]
		}
		run := 0.0
		for i := e.First; i < end; i++ {
			per[i].from = e.From + (e.To-e.From)*run/l
			run += geom.Dist(pts[i], pts[(i+1)%n])
			per[i].to = e.From + (e.To-e.From)*run/l
		}
	}
	return edges, per
}

func TestSeveralWidthsAgainstTheUnion(t *testing.T) {
	outlines := 1000
	if testing.Short() {
		outlines = 100
	}
	seed := uint64(20)
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 3))
	done := 0
	for k := 0; done < outlines; k++ {
		pts := garment(rng)
		outline := geom.Path{Points: pts, Closed: true}
		edges, per := randomEdges(rng, pts)
		if len(outline.SelfCrossings(1)) > 0 || hasFold(edges) {
			continue
		}
		done++
		limit := []float64{1.5, 2, 5}[rng.IntN(3)]
		rings, err := Build(outline, edges, limit)
		if err != nil {
			t.Fatalf("outline %d: %v", k, err)
		}
		if err := buildUnion(pts, per, limit).boundaryGap(rings, geom.AllowanceTol); err != nil {
			t.Errorf("outline %d, %d points, %d edges, limit %g: %v", k, len(pts), len(edges), limit, err)
		}
	}
}

func TestInwardAndOneWidthAgainstTheUnion(t *testing.T) {
	seed := uint64(7)
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 4))
	for k := range 120 {
		pts := garment(rng)
		if len(geom.Path{Points: pts, Closed: true}.SelfCrossings(1)) > 0 {
			continue
		}
		d := []float64{1, 6, 10, 25, 60}[rng.IntN(5)]
		limit := []float64{1, 2, 5}[rng.IntN(3)]
		per := make([]widths, len(pts))
		for i := range per {
			per[i] = widths{d, d}
		}
		for _, inward := range []bool{false, true} {
			by := d
			if inward {
				by = -d
				reversePoints(pts)
			}
			rings, err := uniform(geom.Path{Points: pts, Closed: true}, by, limit)
			if err != nil {
				t.Fatal(err)
			}
			if err := buildUnion(pts, per, limit).boundaryGap(rings, geom.AllowanceTol); err != nil {
				t.Errorf("outline %d by %g, limit %g: %v", k, by, limit, err)
			}
		}
	}
}

func TestInwardWidthsAgainstTheUnion(t *testing.T) {
	seed := uint64(11)
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 5))
	for k := range 120 {
		pts := garment(rng)
		edges, per := randomEdges(rng, pts)
		if len(geom.Path{Points: pts, Closed: true}.SelfCrossings(1)) > 0 || hasFold(edges) {
			continue
		}
		for i := range edges {
			edges[i].From, edges[i].To = -edges[i].From, -edges[i].To
		}
		rings, err := Build(geom.Path{Points: pts, Closed: true}, edges, 2)
		if err != nil {
			t.Fatal(err)
		}
		// The same stretches from the other side: clockwise, the last one first.
		n := len(pts)
		back, turned := make([]orb.Point, n), make([]widths, n)
		for i := range n {
			back[i] = pts[(n-i)%n]
			turned[i] = widths{per[n-1-i].to, per[n-1-i].from}
		}
		if err := buildUnion(back, turned, 2).boundaryGap(rings, geom.AllowanceTol); err != nil {
			t.Errorf("outline %d: %v", k, err)
		}
	}
}

// hasFold tells whether an edge without any width meets one that has: what Build does there is
// more than the plain union and is checked by itself.
func hasFold(edges []Edge) bool {
	for _, e := range edges {
		if e.From == 0 && e.To == 0 {
			return true
		}
	}
	return false
}
