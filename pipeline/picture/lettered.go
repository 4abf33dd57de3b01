package picture

import (
	"cmp"
	"math"
	"slices"
	"unicode/utf8"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/geom/letters"
	"tracewheel/pipeline/pattern"
)

// Heights tried for the letters of a piece's name, mm: from the largest to the smallest, and the step between.
const (
	nameMost, nameLeast = 30.0, 4.0
	nameShrink          = 0.8
)

// lettered letters a piece's name along its longer side, as large as fits beside its openings and as near to its
// middle as possible. Where the name fits neither along nor across the piece's box it runs along the piece's greatest
// length.
func lettered(r *pattern.Ready, at geom.Affine) Words {
	rings := []geom.Path{r.Outline.Apply(at)}
	for _, c := range r.Cutouts() {
		rings = append(rings, c.Apply(at))
	}
	b := rings[0].Bound()
	long, wide := b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]
	turns := []float64{0, math.Pi / 2, slant(rings[0])}
	if wide > long {
		turns[0], turns[1], long, wide = turns[1], turns[0], wide, long
	}
	w := Words{Text: r.Name, At: b.Center(), Turn: turns[0]}
	most := math.Min(nameMost, math.Min(wide/3, long/(0.9*float64(utf8.RuneCountInString(r.Name)+1))))
	for h := most; h >= math.Min(most, nameLeast); h *= nameShrink {
		for _, t := range turns {
			if c, ok := spot(rings, t, letters.Width(r.Name, h)+h, 1.6*h); ok {
				w.Height, w.Turn, w.At = h, t, c
				return w
			}
		}
	}
	w.Height = math.Min(most, nameLeast)
	return w
}

// slant is the direction of a ring's greatest length, such that letters along it read from below or from the right.
func slant(ring geom.Path) float64 {
	var far orb.Point
	for i, p := range ring.Points {
		for _, q := range ring.Points[i+1:] {
			if geom.Dist(p, q) > geom.Norm(far) {
				far = geom.Sub(q, p)
			}
		}
	}
	a := math.Atan2(far[1], far[0])
	switch {
	case a > math.Pi/2:
		return a - math.Pi
	case a <= -math.Pi/2:
		return a + math.Pi
	}
	return a
}

// spot is a place for the middle of a baseline: the turned box of the letters, a quarter of it below the baseline,
// lies inside the first ring and in none of the others. The first ring's middle is tried first, then 9 by 9 places by
// their distance from it.
func spot(rings []geom.Path, turn, width, height float64) (orb.Point, bool) {
	const tries = 9
	turned := make([]geom.Path, len(rings))
	for i, r := range rings {
		turned[i] = r.Apply(geom.Rotate(-turn))
	}
	b := turned[0].Bound()
	free := orb.Point{b.Max[0] - b.Min[0] - width, b.Max[1] - b.Min[1] - height}
	if free[0] < 0 || free[1] < 0 {
		return orb.Point{}, false
	}
	at := []orb.Point{{}}
	for i := range tries * tries {
		x, y := float64(i%tries)/(tries-1)-0.5, float64(i/tries)/(tries-1)-0.5
		at = append(at, orb.Point{free[0] * x, free[1]*y - height/4})
	}
	slices.SortStableFunc(at, func(p, q orb.Point) int { return cmp.Compare(geom.Norm(p), geom.Norm(q)) })
	for _, c := range at {
		c = geom.Add(b.Center(), c)
		box := orb.Bound{Min: orb.Point{c[0] - width/2, c[1] - height/4}, Max: orb.Point{c[0] + width/2, c[1] + height*3/4}}
		if turned[0].Contains(c) && !slices.ContainsFunc(turned[1:], func(h geom.Path) bool { return h.Contains(c) }) &&
			!slices.ContainsFunc(turned, func(r geom.Path) bool { return enters(r, box) }) {
			return geom.Rotate(turn).Apply(c), true
		}
	}
	return orb.Point{}, false
}

// enters reports whether a line runs through a box.
func enters(line geom.Path, box orb.Bound) bool {
	for i := range line.Segments() {
		a, b := line.Segment(i)
		lo, hi := 0.0, 1.0
		for k := range 2 {
			d := b[k] - a[k]
			if d == 0 {
				if a[k] < box.Min[k] || a[k] > box.Max[k] {
					lo = 2
				}
				continue
			}
			t0, t1 := (box.Min[k]-a[k])/d, (box.Max[k]-a[k])/d
			lo, hi = math.Max(lo, math.Min(t0, t1)), math.Min(hi, math.Max(t0, t1))
		}
		if lo <= hi {
			return true
		}
	}
	return false
}
