package assemble

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// tNotches makes T notches of a stem on the edge and a bar across its inner end, drawn as two loose
// lines, and says which shapes they used.
func (j *job) tNotches(shapes []Item) (used []bool) {
	used = make([]bool, len(shapes))
	ends := map[orb.Point][]int{} // stems by the raster cell of their ends
	for i, it := range shapes {
		if straight(it.Path) {
			for _, e := range [2]orb.Point{it.Path.Points[0], it.Path.Points[1]} {
				k := notchCell(e)
				ends[k] = append(ends[k], i)
			}
		}
	}
	for bar, it := range shapes {
		if !used[bar] && straight(it.Path) {
			if stem, n, ok := j.stemOf(shapes, ends, used, bar); ok {
				used[bar], used[stem] = true, true
				j.keepNotch(n, &shapes[stem])
			}
		}
	}
	return used
}

func straight(p geom.Path) bool { return !p.Closed && len(p.Points) == 2 && p.Length() <= maxNotch }

// notchCell is a raster of millimetres; what is looked for lies in a cell or the next one.
func notchCell(p orb.Point) orb.Point { return orb.Point{math.Round(p[0]), math.Round(p[1])} }

// stemOf finds a line that ends on the middle of the bar, square to it, and begins on an edge.
func (j *job) stemOf(shapes []Item, ends map[orb.Point][]int, used []bool, bar int) (int, pattern.Notch, bool) {
	b := shapes[bar].Path.Points
	mid, along, wide := geom.Lerp(b[0], b[1], 0.5), geom.Unit(geom.Sub(b[1], b[0])), geom.Dist(b[0], b[1])
	c := notchCell(mid)
	for dx := -1.0; dx <= 1; dx++ {
		for dy := -1.0; dy <= 1; dy++ {
			for _, i := range ends[orb.Point{c[0] + dx, c[1] + dy}] {
				s := shapes[i].Path.Points
				foot, top := s[0], s[1]
				if geom.Dist(foot, mid) < geom.Dist(top, mid) {
					foot, top = top, foot
				}
				d := geom.Sub(top, foot)
				if i == bar || used[i] || shapes[i].Group != shapes[bar].Group || geom.Dist(top, mid) > onLineTol ||
					math.Abs(geom.Dot(geom.Unit(d), along)) > 0.2 {
					continue
				}
				if p := j.toucher(shapes[i].Group, foot); p == nil || p.edgeDist(foot) > onLineTol || p.edgeDist(mid) <= onLineTol {
					continue
				}
				return i, pattern.Notch{At: foot, Kind: pattern.NotchT, Depth: geom.Norm(d), Width: wide,
					AngleDeg: Degrees(d), AngleSaid: true}, true
			}
		}
	}
	return 0, pattern.Notch{}, false
}
