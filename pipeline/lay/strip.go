package lay

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// seamAllowance is the addition to both parts at a cut through a strip, mm (common practice).
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

// Halved gives the pieces with those of a name cut through the middle, a seam allowance on each part.
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

// thin is the area of a strip five times as long as wide over the square of half its perimeter: a piece with less is
// long and narrow, straight or not, as a facing or a band.
const thin = 5.0 / 36

// LongestFolded is the longest piece on the fold that is long and narrow, such as a facing; -1 for none.
func LongestFolded(ready []pattern.Ready) int {
	best, long := -1, 0.0
	for i := range ready {
		r := &ready[i]
		round := r.Outline.Length() / 2
		if r.OnFold != nil && len(r.Cutouts()) == 0 && r.Outline.Area() < thin*round*round && round > long {
			best, long = i, round
		}
	}
	return best
}

// HalvedAtFold gives the pieces with those of a name cut at their fold, a seam allowance on each part.
func HalvedAtFold(ready []pattern.Ready, name string) []pattern.Ready {
	var out []pattern.Ready
	for _, r := range ready {
		if r.Name != name || r.OnFold == nil {
			out = append(out, r)
			continue
		}
		along := geom.Unit(geom.Sub(r.OnFold.B, r.OnFold.A))
		for _, out90 := range []orb.Point{{-along[1], along[0]}, {along[1], -along[0]}} {
			part := r
			part.Outline, part.EdgeOf, part.OnFold, part.Lines = keepBeyond(r.Outline, r.OnFold.A, out90, -seamAllowance), nil, nil, nil
			part.BothHands = true // the other part is its mirror image
			out = append(out, part)
		}
	}
	return out
}

// keepBeyond clips a closed line by a straight one: the part stays that is more than so many mm from a point in the
// direction of a unit vector.
func keepBeyond(line geom.Path, a, towards orb.Point, least float64) geom.Path {
	out := geom.Path{Closed: true}
	beyond := func(p orb.Point) float64 { return geom.Dot(geom.Sub(p, a), towards) - least }
	for i := range line.Segments() {
		p, q := line.Segment(i)
		u, v := beyond(p), beyond(q)
		if u >= 0 {
			out.Points = append(out.Points, p)
		}
		if u*v < 0 {
			out.Points = append(out.Points, geom.Lerp(p, q, u/(u-v)))
		}
	}
	return out
}
