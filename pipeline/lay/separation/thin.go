package separation

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// Outlines with more than plain vertices are simplified, by at most thinShare of their area.
const (
	plain     = 24
	thinShare = 0.001
)

// thinned is an outline of fewer vertices that contains the given one: a concave vertex is removed, a convex edge is
// replaced by the corner where its neighbours meet, the one that adds least area first.
func thinned(outline []orb.Point) []orb.Point {
	if len(outline) <= plain {
		return outline
	}
	return thinnedLeft(slices.Clone(geom.Path{Points: outline, Closed: true}.CounterClockwise().Points))
}

// thinnedHoles are holes of fewer vertices inside the given ones.
func thinnedHoles(holes [][]orb.Point) [][]orb.Point {
	out := slices.Clone(holes)
	for k, h := range out {
		if len(h) > plain {
			out[k] = geom.Path{Points: h, Closed: true}.CounterClockwise().Points
			out[k] = slices.Clone(out[k])
			slices.Reverse(out[k])
			out[k] = thinnedLeft(out[k])
		}
	}
	return out
}

// thinnedLeft simplifies a ring with the piece on its left, such that the piece only grows.
func thinnedLeft(ring []orb.Point) []orb.Point {
	left := thinShare * geom.Path{Points: ring, Closed: true}.Area()
	barred := map[orb.Point]bool{}
	for len(ring) > plain {
		n := len(ring)
		best, cost := -1, math.Inf(1)
		var where orb.Point
		hollow := false
		for i := range ring {
			if barred[ring[i]] {
				continue
			}
			a, b, c, d := ring[(i+n-1)%n], ring[i], ring[(i+1)%n], ring[(i+2)%n]
			if t := turnOf(a, b, c); t <= 0 {
				if -t/2 < cost {
					best, cost, hollow = i, -t/2, true
				}
				continue
			}
			if turnOf(b, c, d) <= 0 {
				continue
			}
			at, s, u, ok := geom.MeetLines(a, geom.Sub(b, a), d, geom.Sub(c, d))
			if !ok || s < 1 || u < 1 {
				continue
			}
			if more := turnOf(b, at, c) / 2; more >= 0 && more < cost {
				best, cost, hollow, where = i, more, false, at
			}
		}
		if best < 0 || cost > left {
			break
		}
		next := slices.Clone(ring)
		if hollow {
			next = slices.Delete(next, best, best+1)
		} else {
			next[best] = where
			next = slices.Delete(next, (best+1)%n, (best+1)%n+1)
		}
		if (geom.Path{Points: next, Closed: true}).SelfCrossings(1) != nil {
			barred[ring[best]] = true
			continue
		}
		ring, left = next, left-cost
	}
	return ring
}
