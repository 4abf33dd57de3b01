package geom

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// Crossing is a place where two stretches of a line have a point in common. For Crossings I is a
// stretch of the first path and J of the second; within one path I < J. Where two stretches lie
// on each other for a while, At is the middle of what they share.
type Crossing struct {
	At   orb.Point
	I, J int
}

// SelfCrossings lists where a path crosses, touches or lies on itself, in the order of I and J, at
// most limit of them (0: all); stretches that follow each other count only where one turns back
// onto the other. A place where the path comes through one of its own vertices is listed once.
func (p Path) SelfCrossings(limit int) []Crossing {
	ends, origin := solidSegments(p)
	last := len(ends) - 1
	var found []Crossing
	NewTree(ends).SelfPairs(0, func(i, j int) bool {
		next := j == i+1
		wraps := p.Closed && i == 0 && j == last && last > 1
		at, both, ok := meetSegments(ends[i], ends[j])
		if ok && (both || !(next || wraps)) {
			found = append(found, Crossing{At: at, I: origin[i], J: origin[j]})
		}
		return limit <= 0 || len(found) < 4*limit+16
	})
	return tidyCrossings(found, limit)
}

// Crossings lists where two paths cross, touch or lie on each other, in the order of I and J.
func Crossings(a, b Path) []Crossing {
	ae, ao := solidSegments(a)
	be, bo := solidSegments(b)
	if len(ae) == 0 || len(be) == 0 {
		return nil
	}
	ta, tb := NewTree(ae), NewTree(be)
	var found []Crossing
	ta.pairsBetween(tb, 0, 0, 0, func(i, j int) bool {
		if at, _, ok := meetSegments(ae[i], be[j]); ok {
			found = append(found, Crossing{At: at, I: ao[i], J: bo[j]})
		}
		return true
	})
	return tidyCrossings(found, 0)
}

// solidSegments leaves out stretches of no length; origin tells each one's number in the path.
func solidSegments(p Path) (ends [][2]orb.Point, origin []int) {
	for i, e := range p.segments() {
		if Dist(e[0], e[1]) >= Tiny {
			ends, origin = append(ends, e), append(origin, i)
		}
	}
	return ends, origin
}

// tidyCrossings sorts, and keeps one of those that share a place and a stretch: a line through a
// vertex meets both stretches that end there.
func tidyCrossings(found []Crossing, limit int) []Crossing {
	slices.SortFunc(found, func(a, b Crossing) int { return cmp.Or(cmp.Compare(a.I, b.I), cmp.Compare(a.J, b.J)) })
	seen := map[[2]int64]bool{}
	kept := found[:0]
	for _, c := range found {
		key := [2]int64{int64(math.Round(c.At[0] * 1e6)), int64(math.Round(c.At[1] * 1e6))}
		if seen[key] {
			continue
		}
		seen[key] = true
		kept = append(kept, c)
		if len(kept) == limit {
			break
		}
	}
	return kept
}

// meetSegments is the point two segments have in common, both of some length. Where they share a
// stretch, both is true and the point is its middle. Ends within Tiny of the other segment count
// as lying on it.
func meetSegments(a, b [2]orb.Point) (at orb.Point, both, ok bool) {
	u, v := Sub(a[1], a[0]), Sub(b[1], b[0])
	lu, lv := Norm(u), Norm(v)
	w := Sub(b[0], a[0])
	den := Cross(u, v)
	if math.Abs(den) > 1e-12*lu*lv {
		s, t := Cross(w, v)/den, Cross(w, u)/den
		es, et := Tiny/lu, Tiny/lv
		if s < -es || s > 1+es || t < -et || t > 1+et {
			return at, false, false
		}
		return Lerp(a[0], a[1], math.Max(0, math.Min(1, s))), false, true
	}
	if math.Abs(Cross(u, w)) > Tiny*lu {
		return at, false, false
	}
	s0, s1 := Dot(w, u)/(lu*lu), Dot(Sub(b[1], a[0]), u)/(lu*lu)
	lo, hi := math.Max(0, math.Min(s0, s1)), math.Min(1, math.Max(s0, s1))
	switch e := Tiny / lu; {
	case hi-lo > e:
		return Lerp(a[0], a[1], (lo+hi)/2), true, true
	case hi-lo >= -e:
		return Lerp(a[0], a[1], (lo+hi)/2), false, true
	}
	return at, false, false
}
