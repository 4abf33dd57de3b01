package lay

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// seamAllowance is what a cut through a strip adds to both parts, mm (common practice).
const seamAllowance = 10

// LongestStrip is the longest piece of four corners that is at least five times as long as wide; -1 for none.
func LongestStrip(ready []pattern.Ready) int {
	best, long := -1, 0.0
	for i := range ready {
		pts := ready[i].Outline.Points
		if len(pts) != 4 || ready[i].OnFold != nil {
			continue
		}
		a, b := geom.Dist(pts[0], pts[1]), geom.Dist(pts[1], pts[2])
		if math.Max(a, b) > 5*math.Min(a, b) && math.Max(a, b) > long {
			best, long = i, math.Max(a, b)
		}
	}
	return best
}

// Halved gives the pieces with all of a name cut through the middle, a seam allowance on each part.
func Halved(ready []pattern.Ready, name string) []pattern.Ready {
	var out []pattern.Ready
	for _, r := range ready {
		pts := r.Outline.Points
		if r.Name != name || len(pts) != 4 {
			out = append(out, r)
			continue
		}
		if geom.Dist(pts[0], pts[1]) < geom.Dist(pts[1], pts[2]) {
			pts = []orb.Point{pts[1], pts[2], pts[3], pts[0]}
		}
		t := 0.5 + seamAllowance/geom.Dist(pts[0], pts[1])
		one, two := r, r
		one.Outline = geom.Path{Closed: true, Points: []orb.Point{pts[0], geom.Lerp(pts[0], pts[1], t), geom.Lerp(pts[3], pts[2], t), pts[3]}}
		two.Outline = geom.Path{Closed: true, Points: []orb.Point{geom.Lerp(pts[1], pts[0], t), pts[1], pts[2], geom.Lerp(pts[2], pts[3], t)}}
		out = append(out, one, two)
	}
	return out
}
