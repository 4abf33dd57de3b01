package assemble

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

const (
	// maxLoops bounds the outlines of one role; comparing more with each other takes too long.
	maxLoops = 3000
	// maxNestTests bounds how often a line is tried inside another one that has a larger box.
	maxNestTests = 100_000
	// maxTwins bounds the lines of one box that are compared with each other.
	maxTwins = 16
	// A line inside an outline that keeps this distance from it all round is a sew line, whatever
	// its layer says (widths of common practice, from narrow seam to deep hem).
	sewLikeMin, sewLikeMax = 4.0, 40.0
	// sewLikeCorner is how much further an outer corner may lie from a line parallel to its edges.
	sewLikeCorner = 1.5
	// smallHole is the diameter under which a hole on the cut layer is more likely a drill mark.
	smallHole = 8.0
	// wideGap is how far apart the ends of one outline may lie and still be spoken of as one.
	wideGap = 25.0
)

// loop is a closed line among others.
type loop struct {
	strand
	area   float64
	bound  orb.Bound
	parent int // the smallest loop round it, -1 for none
	depth  int
	index  *geom.Index
	inside *inside
}

// nested finds which loop lies in which; loops of one group see only each other and ungrouped ones
// see all. They come back largest first. ok is false where so many boxes lie in each other that
// finding out would take too long.
func nested(closed []strand) (nest []loop, ok bool) {
	loops := make([]loop, len(closed))
	for i, s := range closed {
		loops[i] = loop{strand: s, area: s.path.Area(), bound: s.path.Bound(), parent: -1}
	}
	slices.SortStableFunc(loops, func(a, b loop) int { return cmp.Compare(b.area, a.area) })
	tests := 0
	for i := range loops {
		for k := i - 1; k >= 0; k-- {
			outer := &loops[k]
			if loops[i].group != "" && loops[i].group != outer.group || !boxHolds(outer.bound, loops[i].bound) {
				continue
			}
			if tests++; tests > maxNestTests {
				return nil, false
			}
			if outer.holds(&loops[i]) {
				loops[i].parent, loops[i].depth = k, outer.depth+1
				break
			}
		}
	}
	return loops, true
}

func (l *loop) holds(o *loop) bool {
	if l.inside == nil {
		l.inside, l.index = newInside(l.path), geom.NewIndex(l.path)
	}
	return holdsPath(l.inside, l.index, o.path)
}

func boxHolds(a, b orb.Bound) bool {
	const t = geom.CloseTol
	return a.Min[0] <= b.Min[0]+t && a.Min[1] <= b.Min[1]+t && a.Max[0] >= b.Max[0]-t && a.Max[1] >= b.Max[1]-t
}

// holdsPath tells whether a closed line holds another one; points on the line itself, within the
// closing tolerance, are inside.
func holdsPath(outer *inside, index *geom.Index, inner geom.Path) bool {
	for _, p := range sample(inner, 64) {
		if yes, _ := outer.holds(p); yes {
			continue
		}
		if _, n := index.Nearest(p); n.Dist > geom.CloseTol {
			return false
		}
	}
	return true
}

// sample takes at most about n vertices, evenly.
func sample(p geom.Path, n int) []orb.Point {
	step := max(1, len(p.Points)/n)
	var out []orb.Point
	for i := 0; i < len(p.Points); i += step {
		out = append(out, p.Points[i])
	}
	return out
}

// single takes out lines that are drawn twice in the same place.
func (j *job) single(lines []strand, role pattern.Role) []strand {
	type ends struct{ a, b orb.Point }
	seen := map[ends][]int{}
	var kept []strand
	for _, s := range lines {
		b := s.path.Bound()
		key := ends{cell(b.Min), cell(b.Max)}
		twice := slices.ContainsFunc(seen[key], func(k int) bool { return sameLine(kept[k].path, s.path) })
		if !twice {
			if len(seen[key]) < maxTwins {
				seen[key] = append(seen[key], len(kept))
			}
			kept = append(kept, s)
			continue
		}
		if role == pattern.RoleMark || role == pattern.RoleStripe || role == pattern.RolePlaid || role == pattern.RoleQuality {
			continue // no blade follows these; once is enough
		}
		if j.doubled++; j.doubled > maxMends {
			continue // told often enough
		}
		f := pattern.NewFinding(pattern.RuleOutlineDoubled,
			fmt.Sprintf("a %s line is drawn twice in the same place; it is used once", roleWord(role)),
			"take one of the two out; to cut two, state the quantity")
		f.Severity = pattern.Warning
		f.At, f.Line = pattern.Place(s.path.Points[0]), s.line
		j.add(f)
	}
	return kept
}

// cell is where a point lies in a raster that is coarse against the rounding of drafts. Its lines are
// moved off the round numbers on which drafts like to lie.
func cell(p orb.Point) orb.Point {
	const size, off = 4 * geom.CloseTol, 0.123
	return orb.Point{math.Round(p[0]/size + off), math.Round(p[1]/size + off)}
}

func roleWord(role pattern.Role) string {
	if role == pattern.RoleNone {
		return "plain"
	}
	return string(role)
}

// sameLine tells whether two lines run through the same places, whichever way.
func sameLine(a, b geom.Path) bool {
	if a.Closed != b.Closed || len(a.Points) == 0 || len(b.Points) == 0 {
		return false
	}
	la, lb := a.Length(), b.Length()
	if diff := la - lb; diff > 4*geom.CloseTol || diff < -4*geom.CloseTol {
		return false
	}
	for _, p := range sample(a, 32) {
		if b.Nearest(p).Dist > geom.CloseTol {
			return false
		}
	}
	return !slices.ContainsFunc(sample(b, 32), func(p orb.Point) bool { return a.Nearest(p).Dist > geom.CloseTol })
}

// sewLike tells whether an inner line keeps the distance of a sew line from the outer one all
// round.
func (l *loop) sewLike(inner *loop) (least, most float64, ok bool) {
	least, most = distances(l.index, inner.path)
	if least < sewLikeMin || most > sewLikeMax {
		return least, most, false
	}
	_, far := distances(geom.NewIndex(inner.path), l.path)
	return least, most, far <= sewLikeMax*sewLikeCorner
}

// distances is the least and the greatest distance of a line from another, at its vertices and
// every few millimetres.
func distances(ix *geom.Index, line geom.Path) (least, most float64) {
	least = math.Inf(1)
	look := func(p orb.Point) {
		_, n := ix.Nearest(p)
		least, most = math.Min(least, n.Dist), math.Max(most, n.Dist)
	}
	step := math.Max(2, line.Length()/2000)
	for i := range line.Segments() {
		a, b := line.Segment(i)
		n := int(math.Ceil(geom.Dist(a, b) / step))
		for k := range max(n, 1) {
			look(geom.Lerp(a, b, float64(k)/float64(max(n, 1))))
		}
	}
	return least, most
}
