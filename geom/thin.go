package geom

import (
	"math"

	"github.com/paulmach/orb"
)

// Thin drops vertices that are no corners where the line left stays within tol of them. The ends
// of an open path and the first point of a closed one stay.
func (p Path) Thin(tol float64) Path {
	if p.Corners == nil || len(p.Points) < 3 {
		return p.Clone()
	}
	keep := ThinIndices(p.Points, p.Closed, p.Corner, tol)
	q := Path{Closed: p.Closed, Points: make([]orb.Point, len(keep)), Corners: make([]bool, len(keep))}
	for k, i := range keep {
		q.Points[k], q.Corners[k] = p.Points[i], p.Corners[i]
	}
	return q
}

// ThinIndices are the vertices that stay, in order. It walks once: from each kept vertex it holds
// the cone of directions whose ray passes all vertices since within tol, and keeps the last vertex
// still inside when the next one leaves it (after Sklansky and Gonzalez, 1980).
func ThinIndices(pts []orb.Point, closed bool, must func(i int) bool, tol float64) []int {
	n := len(pts)
	keep := []int{0}
	var c cone
	for i := 1; i < n; i++ {
		last := keep[len(keep)-1]
		if i-1 > last && (must(i-1) || !c.admits(pts[last], pts[i])) {
			keep = append(keep, i-1)
			last, c = i-1, cone{}
		}
		c.narrow(pts[last], pts[i], tol)
	}
	if !closed {
		return append(keep, n-1)
	}
	last := keep[len(keep)-1]
	if n-1 > last && (must(n-1) || !c.admits(pts[last], pts[0])) {
		keep = append(keep, n-1)
	}
	for k := n - 1; len(keep) < 3 && k > 0; k-- { // an outline stays one
		keep = insertIndex(keep, k)
	}
	return keep
}

func insertIndex(keep []int, k int) []int {
	for i, v := range keep {
		if v == k {
			return keep
		}
		if v > k {
			return append(keep[:i], append([]int{k}, keep[i:]...)...)
		}
	}
	return append(keep, k)
}

// cone is a range of directions seen from a kept vertex, and the furthest vertex passed: a chord
// may not end nearer than that, or the line would have turned back.
type cone struct {
	left, right orb.Point
	set         bool
	far         float64
}

func (c *cone) admits(from, to orb.Point) bool {
	d := Sub(to, from)
	if c.far > 0 && Norm(d) < c.far {
		return false
	}
	return !c.set || (Cross(d, c.left) >= 0 && Cross(c.right, d) >= 0)
}

func (c *cone) narrow(from, to orb.Point, tol float64) {
	d := Sub(to, from)
	l := Norm(d)
	c.far = math.Max(c.far, l)
	if l <= tol {
		return
	}
	s := tol / l
	k := math.Sqrt(1 - s*s)
	left := orb.Point{d[0]*k - d[1]*s, d[1]*k + d[0]*s}
	right := orb.Point{d[0]*k + d[1]*s, d[1]*k - d[0]*s}
	if !c.set {
		c.left, c.right, c.set = left, right, true
		return
	}
	if Cross(left, c.left) > 0 {
		c.left = left
	}
	if Cross(c.right, right) > 0 {
		c.right = right
	}
}
