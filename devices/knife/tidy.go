package knife

import (
	"github.com/paulmach/orb"

	"tracewheel/geom"
)

const (
	// mergeTol is how close two points may lie before the direction between them is noise, mm: at
	// a grid of 0.001 mm a stretch of 0.05 mm turns by up to 1.6 degrees.
	mergeTol = 0.05
	// retraceTol is how close a way back must follow the way out to be the same slit, mm.
	retraceTol = 0.02
)

// tidy drops what would look like corners: points on top of one another, and stretches shorter than mergeTol, also across
// the closing point. Corners are kept before smooth points; of two corners too close, their middle is kept. The line moves
// by at most mergeTol/2.
func tidy(p geom.Path) geom.Path {
	q := geom.Path{Closed: p.Closed}
	for i, pt := range p.Points {
		q = addTidy(q, pt, p.Corner(i), !p.Closed && i == len(p.Points)-1)
	}
	n := len(q.Points)
	if q.Closed && n > 2 && geom.Dist(q.Points[n-1], q.Points[0]) < mergeTol {
		pt, corner := merged(q.Points[0], q.Corners[0], q.Points[n-1], q.Corners[n-1])
		q.Points, q.Corners = q.Points[:n-1], q.Corners[:n-1]
		q.Points[0], q.Corners[0] = pt, corner
	}
	return q
}

func addTidy(q geom.Path, pt orb.Point, corner, last bool) geom.Path {
	n := len(q.Points)
	if n == 0 || geom.Dist(q.Points[n-1], pt) >= mergeTol {
		q.Points, q.Corners = append(q.Points, pt), append(q.Corners, corner)
		return q
	}
	switch {
	case last && n > 1: // the ends of an open line stay where they are
		q.Points[n-1], q.Corners[n-1] = pt, true
	case last:
		if pt != q.Points[0] {
			q.Points, q.Corners = append(q.Points, pt), append(q.Corners, true)
		}
	case n == 1 && !q.Closed:
	default:
		q.Points[n-1], q.Corners[n-1] = merged(q.Points[n-1], q.Corners[n-1], pt, corner)
	}
	return q
}

func merged(a orb.Point, aCorner bool, b orb.Point, bCorner bool) (orb.Point, bool) {
	switch {
	case aCorner && bCorner:
		return geom.Lerp(a, b, 0.5), true
	case bCorner:
		return b, true
	default:
		return a, aCorner
	}
}

// oneWay gives the open line along which a slit drawn out and back is cut: to turn the blade in its own cut would tear,
// and the way back cuts nothing.
func oneWay(p geom.Path) (geom.Path, bool) {
	n := len(p.Points)
	if !p.Closed {
		if n < 3 || n%2 == 0 || !retraces(p, 0, n) {
			return p, false
		}
		return geom.Path{Points: p.Points[:n/2+1], Corners: p.Corners[:n/2+1]}, true
	}
	if n < 2 || n%2 == 1 {
		return p, false
	}
	for tip := range n / 2 {
		if retraces(p, tip, n+1) {
			q := geom.Path{}
			for k := 0; k <= n/2; k++ {
				q.Points = append(q.Points, p.Points[(tip+k)%n])
				q.Corners = append(q.Corners, p.Corners[(tip+k)%n])
			}
			return q, true
		}
	}
	return p, false
}

// retraces tells whether count vertices from first on read the same forwards and backwards.
func retraces(p geom.Path, first, count int) bool {
	n := len(p.Points)
	for k := 0; k < count/2; k++ {
		if geom.Dist(p.Points[(first+k)%n], p.Points[(first+count-1-k)%n]) > retraceTol {
			return false
		}
	}
	return true
}
