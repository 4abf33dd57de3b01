package separation

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// opening is a hole of a placed piece in the bands of the first lay: each band is free from lo to hi through its whole
// height. Of a band with several free ranges it has the longest.
type opening struct {
	first  int // its lowest band
	lo, hi []float64
	width  float64 // of the longest range: a piece that is longer in every turn is not tried
}

// openings are the holes of an orientation at its place, without those that no band crosses.
func (ps *pieces) openings(f *oriented, at orb.Point) (out []opening) {
	h := ps.strip.Width / bands
	for _, hole := range f.holes {
		ring := geom.Path{Points: hole, Closed: true}.Apply(geom.Translate(at[0], at[1]))
		box := ring.Bound()
		o := opening{first: max(0, int(math.Ceil(box.Min[1]/h)))}
		n := min(bands, int(math.Floor(box.Max[1]/h))) - o.first
		if len(hole) < 3 || n <= 0 {
			continue
		}
		edges := make([][]span, n)
		for i := range ring.Segments() {
			a, b := ring.Segment(i)
			inBands(a, b, float64(o.first)*h, h, 0, n, func(k int, x float64) {
				if m := len(edges[k]) - 1; m >= 0 && edges[k][m].edge == i {
					s := &edges[k][m]
					s.lo, s.hi = min(s.lo, x), max(s.hi, x)
				} else {
					edges[k] = append(edges[k], span{x, x, i})
				}
			})
		}
		for k := range n {
			lo, hi := longestFree(ring, edges[k], (float64(o.first+k)+0.5)*h)
			o.lo, o.hi = append(o.lo, lo), append(o.hi, hi)
			o.width = max(o.width, hi-lo)
		}
		out = append(out, o)
	}
	return out
}

// span is the range of an edge in a band.
type span struct {
	lo, hi float64
	edge   int
}

// longestFree is the longest range inside a ring, along a line at y, that no span enters; lo above hi for none.
func longestFree(ring geom.Path, spans []span, y float64) (lo, hi float64) {
	slices.SortFunc(spans, func(a, b span) int { return cmp.Or(cmp.Compare(a.lo, b.lo), cmp.Compare(a.hi, b.hi)) })
	lo, hi = math.Inf(1), math.Inf(-1)
	end := math.Inf(-1)
	for _, s := range spans {
		if s.lo-end > max(hi-lo, 0) && !math.IsInf(end, -1) && ring.Contains(orb.Point{(end + s.lo) / 2, y}) {
			lo, hi = end, s.lo
		}
		end = max(end, s.hi)
	}
	return lo, hi
}

// into finds the leftmost place for an orientation in an opening, with its lowest point on a band's lower edge.
func (o *opening) into(s Strip, f *oriented, pr *profile) (at orb.Point, band int, ok bool) {
	if pr.fixed || f.box.Max[0]-f.box.Min[0] > o.width {
		return at, 0, false
	}
	h := s.Width / bands
	best := math.Inf(1)
	for b := max(o.first, 0); b < o.first+len(o.lo) && f.y0+float64(b)*h <= f.y1; b++ {
		x, fits := math.Inf(-1), true
		for k, left := range pr.left {
			if math.IsInf(left, 1) {
				continue
			}
			i := b - pr.below + k - o.first
			if fits = i >= 0 && i < len(o.lo); !fits {
				break
			}
			x = max(x, o.lo[i]+s.Gap-left)
		}
		for k, reach := range pr.reach {
			if i := b - pr.below + k - o.first; fits && !math.IsInf(reach, -1) {
				fits = x+reach+s.Gap <= o.hi[i]
			}
		}
		if fits && x < best {
			best, at, band, ok = x, orb.Point{x, f.y0 + float64(b)*h}, b, true
		}
	}
	return at, band, ok
}

// take marks the place of an orientation in the opening as occupied.
func (o *opening) take(pr *profile, x float64, band int) {
	for k, right := range pr.right {
		if i := band - pr.below + k - o.first; !math.IsInf(right, -1) && i >= 0 && i < len(o.lo) {
			o.lo[i] = max(o.lo[i], x+right)
		}
	}
}
