package blade

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

const (
	// joinTol is how near two cuts must come to count as one, mm: ten steps of a three-decimal
	// program. Two cut ends side by side at 0.05 mm leave a bridge of cloth.
	joinTol = 0.01
	// band is how far from the outline a cut may run and still count as cutting it, mm.
	band = 0.2
)

// Severed tells whether the piece inside a closed outline comes free: a closed curve can be walked
// in the union of the cuts at or under height through, close by the outline, that winds round a
// point inside. That every point of the outline was cut within a tolerance is not enough for it.
func Severed(cuts []Cut, outline geom.Path, through float64) bool {
	in, ok := insidePoint(outline)
	return ok && severed(throughCuts(cuts, through), outline, in)
}

// reach is a cut and the box round it.
type reach struct {
	path geom.Path
	box  orb.Bound
}

func throughCuts(cuts []Cut, through float64) []reach {
	var out []reach
	for _, c := range cuts {
		if c.Z <= through+1e-9 {
			out = append(out, reach{c.Path, c.Path.Bound()})
		}
	}
	return out
}

func severed(cuts []reach, outline geom.Path, in orb.Point) bool {
	w := windings{about: in}
	box := outline.Bound().Pad(band)
	for _, c := range cuts {
		if c.box.Intersects(box) {
			w.add(c.path)
		}
	}
	w.dropFar(outline)
	return w.windsRound()
}

// windings joins the vertices of all cuts by the angle under which their way is seen from a point.
// A closed way whose angles do not add up to nothing winds round that point.
type windings struct {
	about  orb.Point
	points []orb.Point
	segs   [][2]int // by vertex
	parent []int
	angle  []float64 // from the vertex to its parent
}

func (w *windings) add(p geom.Path) {
	base := len(w.points)
	w.points = append(w.points, p.Points...)
	for i := 1; i < len(p.Points); i++ {
		w.segs = append(w.segs, [2]int{base + i - 1, base + i})
	}
}

// dropFar leaves the segments of which an end or the middle lies by the outline.
func (w *windings) dropFar(outline geom.Path) {
	ix := geom.NewIndex(outline)
	near := func(p orb.Point) bool {
		_, n := ix.Nearest(p)
		return n.Dist <= band
	}
	by := make([]bool, len(w.points))
	for i, p := range w.points {
		by[i] = near(p)
	}
	kept := w.segs[:0]
	for _, s := range w.segs {
		if by[s[0]] || by[s[1]] || near(geom.Lerp(w.points[s[0]], w.points[s[1]], 0.5)) {
			kept = append(kept, s)
		}
	}
	w.segs = kept
}

func (w *windings) windsRound() bool {
	w.parent, w.angle = make([]int, len(w.points)), make([]float64, len(w.points))
	for i := range w.parent {
		w.parent[i] = i
	}
	for _, s := range w.segs {
		if w.join(s[0], s[1], w.seen(w.points[s[0]], w.points[s[1]])) {
			return true
		}
	}
	return w.contacts()
}

// contacts joins segments of the cuts that touch or cross.
func (w *windings) contacts() bool {
	const cell = 1.0
	grid := map[[2]int][]int{}
	for k, s := range w.segs {
		a, b := w.points[s[0]], w.points[s[1]]
		for _, c := range cells(a, b, cell) {
			for _, j := range grid[c] {
				if w.touch(w.segs[j], s) {
					return true
				}
			}
			grid[c] = append(grid[c], k)
		}
	}
	return false
}

// touch joins two segments where they meet, and tells whether that closes a way round.
func (w *windings) touch(s, t [2]int) bool {
	if s[1] == t[0] || s[0] == t[1] {
		return false
	}
	p, q, d := closest(w.points[s[0]], w.points[s[1]], w.points[t[0]], w.points[t[1]])
	if d > joinTol {
		return false
	}
	a := w.seen(w.points[s[0]], p) + w.seen(p, q) + w.seen(q, w.points[t[0]])
	return w.join(s[0], t[0], a)
}

// seen is the angle under which the straight way from a to b is seen.
func (w *windings) seen(a, b orb.Point) float64 {
	u, v := geom.Sub(a, w.about), geom.Sub(b, w.about)
	return math.Atan2(geom.Cross(u, v), geom.Dot(u, v))
}

// find gives the vertex at the end of the chain of parents and the angle to it.
func (w *windings) find(i int) (root int, sum float64) {
	for root = i; w.parent[root] != root; root = w.parent[root] {
		sum += w.angle[root]
	}
	for rest := sum; w.parent[i] != root; { // shorten the chain for the next one
		next, a := w.parent[i], w.angle[i]
		w.parent[i], w.angle[i] = root, rest
		i, rest = next, rest-a
	}
	return root, sum
}

// join says that b lies at angle a from a vertex; true where that contradicts what is known by
// whole turns.
func (w *windings) join(i, j int, a float64) bool {
	ri, ai := w.find(i)
	rj, aj := w.find(j)
	if ri == rj {
		return math.Abs(a+aj-ai) > math.Pi
	}
	w.parent[ri], w.angle[ri] = rj, a+aj-ai
	return false
}
