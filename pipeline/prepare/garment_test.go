package prepare

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// smock is the sewn half front of the demo garments' ferry-hand's smock, body A, its pleat open, on
// the fold x = 0: drawn from the derived numbers of its sheet, in mm with y up.
func smock() pattern.Piece {
	var (
		co, si = 8 / math.Sqrt(73), 3 / math.Sqrt(73)
		n      = 12 + 2.0/3
		q, a   = 27.0, 23.5
		tip    = orb.Point{18, 2}
		p, r   = 15.7058, 10.0
		bigR   = 27.6887
		cn     = orb.Point{n - 3*co, -3 * si}
		hem    = orb.Point{0, -416}
		rh     = 478.5
		h      = orb.Point{28.9469, 61.6236}
		rho    = 198.1817
		lean   = 3.4682 * math.Pi / 180
	)
	neckC := orb.Point{0, 4 - bigR}
	j := geom.Add(neckC, geom.Mul(geom.Unit(geom.Sub(cn, neckC)), bigR))
	neckY := func(x float64) float64 { return neckC[1] + math.Sqrt(bigR*bigR-x*x) }
	hemY := func(x float64) float64 { return hem[1] + math.Sqrt(rh*rh-x*x) }
	var pts []orb.Point
	corner := map[int]bool{}
	add := func(q ...orb.Point) { pts = append(pts, q...) }
	mark := func() { corner[len(pts)-1] = true }
	arc := func(c orb.Point, from, to orb.Point) { // the short way
		u := geom.Sub(from, c)
		turn := math.Atan2(geom.Cross(u, geom.Sub(to, c)), geom.Dot(u, geom.Sub(to, c)))
		v := geom.Left(u)
		if turn < 0 {
			v, turn = geom.Mul(v, -1), -turn
		}
		pts = geom.FlattenArc(pts, c, u, v, 0, turn, geom.FlattenTol/10)
	}
	right := func(p orb.Point) orb.Point { return orb.Point{p[0] + 8, p[1]} }
	// The neck edge across the pleat: the closed arc, its mirror image about the inner fold, and then
	// the garment's own neck.
	for x := 0.0; x < 8; x += 0.05 {
		add(orb.Point{x, neckY(math.Min(x, 8-x))})
	}
	add(orb.Point{8, 4})
	mark()
	arc(right(neckC), orb.Point{8, 4}, right(j))
	arc(right(cn), right(j), right(orb.Point{n, 0}))
	mark()
	add(right(tip))
	mark()
	tc := geom.Add(tip, orb.Point{p * co, p * si})
	arc(right(tc), right(tip), right(orb.Point{17, tip[1] + p*si}))
	add(right(orb.Point{17, a - r}))
	arc(right(orb.Point{q, a - r}), right(orb.Point{17, a - r}), right(orb.Point{q, a}))
	mark()
	sideC := orb.Point{q + rho, a}
	arc(right(sideC), right(orb.Point{q, a}), right(geom.Sub(sideC, orb.Point{rho * math.Cos(lean), -rho * math.Sin(lean)})))
	add(right(h))
	mark()
	arc(right(hem), right(h), orb.Point{8, hemY(0)})
	mark()
	for x := 7.95; x > 0; x -= 0.05 {
		add(orb.Point{x, hemY(math.Min(x, 8-x))})
	}
	add(orb.Point{0, hemY(0)})
	mark()
	sew := geom.Path{Closed: true}
	for i, pt := range pts {
		sew.Points = append(sew.Points, orb.Point{10 * pt[0], -10 * pt[1]})
		sew.Corners = append(sew.Corners, corner[i] || i == 0)
	}
	return pattern.Piece{Name: "FRONT", Named: true, Quantity: 1, Sew: []geom.Path{sew},
		Fold: &pattern.Segment{A: orb.Point{0, -40}, B: orb.Point{0, -625}}}
}

// Half pattern on fold, area 1928.433 cm2: full 3856.867 cm2 (trade check value 50; demo garment 1,
// body A, whose sheet gives the derived numbers to four places).
func TestTheSmockOpensOut(t *testing.T) {
	p := smock()
	if a := p.Sew[0].Area() / 100; math.Abs(a-1928.433) > 0.1 {
		t.Fatalf("the half is %v cm2, want 1928.433", a)
	}
	p.Allowance = mm(0) // bound all round: the cut line is the sew line
	r := mustRun(t, draftOf(p), pattern.Ticket{}, Options{}).Ready[0]
	if a := r.Outline.Area() / 100; math.Abs(a-3856.867) > 0.2 {
		t.Errorf("the whole is %v cm2, want 3856.867", a)
	}
	// The open front is 73.8938 cm wide between its hem corners.
	if w, _ := span(r.Outline.Bound()); math.Abs(w/10-73.8938) > 0.001 {
		t.Errorf("%v cm wide, want 73.8938", w/10)
	}
	p.Allowance = mm(15)
	r = mustRun(t, draftOf(p), pattern.Ticket{}, Options{}).Ready[0]
	edge := geom.NewIndex(r.Outline)
	for i, q := range p.Sew[0].Points {
		if q[0] < 20 {
			continue // on the fold, or near it, where the neck's allowance is measured askew
		}
		if _, near := edge.Nearest(q); near.Dist < 15-0.01 {
			t.Fatalf("point %d of the sew line has %v of allowance", i, near.Dist)
		}
	}
}
