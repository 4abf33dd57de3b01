package separation

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// bands is the number of bands across the strip's width for the first lay.
const bands = 256

// firstPlaces places the pieces one after another, each where its right end is leftmost against a front across the
// strip, or in an opening of a placed piece. It tries a few orders, and rows, and keeps the shortest sound lay.
func firstPlaces(ps *pieces) (Layout, []place, error) {
	long := func(i int) float64 {
		b := ps.list[i].faces[0].box
		return max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1])
	}
	profiles := make([][]profile, ps.kinds)
	for _, p := range ps.list {
		if profiles[p.kind] == nil {
			for f := range p.faces {
				profiles[p.kind] = append(profiles[p.kind], newProfile(ps.strip, &p.faces[f]))
			}
		}
	}
	var best Layout
	var bestPlaces []place
	for _, key := range []func(i int) float64{
		func(i int) float64 { return geom.Path{Points: ps.items[i].Outline, Closed: true}.Area() },
		long,
		func(i int) float64 { b := ps.list[i].faces[0].box; return b.Max[0] - b.Min[0] },
	} {
		order := make([]int, len(ps.list))
		for i := range order {
			order[i] = i
		}
		slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(key(j), key(i)) })
		places := ps.setDown(order, profiles, true)
		lay, ok := ps.layout(places)
		if !ok { // rounding made a place in an opening too tight
			places = ps.setDown(order, profiles, false)
			lay, ok = ps.layout(places)
		}
		if ok && (bestPlaces == nil || lay.Length < best.Length) {
			best, bestPlaces = lay, places
		}
	}
	if places, ok := ps.rowPlaces(); ok {
		if lay, ok := ps.layout(places); ok && (bestPlaces == nil || lay.Length < best.Length) {
			best, bestPlaces = lay, places
		}
	}
	if bestPlaces == nil {
		return best, nil, errors.New("no sound lay was found")
	}
	return best, bestPlaces, nil
}

// profile is an orientation in bands: for each band, from its lowest on, the distance of its right end from its
// origin, and its left and right ends when extended across by the gap.
type profile struct {
	right, left, reach []float64
	below              int // bands of the gap below the orientation
	fixed              bool
	band               int     // of a fixed one: its lowest band
	y                  float64 // of a fixed one: the y of its origin
}

func newProfile(s Strip, f *oriented) profile {
	h := s.Width / bands
	var p profile
	bottom := f.box.Min[1] // on a band's lower edge, unless its place across is fixed
	if f.y1-f.y0 < h {
		p.fixed, p.y = true, f.y0
		p.band = int(math.Floor((f.y0 + f.box.Min[1]) / h))
		bottom = float64(p.band)*h - f.y0
	}
	p.below = int(math.Ceil(s.Gap / h))
	bottom -= float64(p.below) * h
	n := int(math.Ceil((f.box.Max[1]+s.Gap-bottom)/h)) + 1
	p.left, p.right, p.reach = make([]float64, n), make([]float64, n), make([]float64, n)
	for k := range n {
		p.left[k], p.right[k], p.reach[k] = math.Inf(1), math.Inf(-1), math.Inf(-1)
	}
	path := geom.Path{Points: f.outline, Closed: true}
	for i := range path.Segments() {
		a, b := path.Segment(i)
		inBands(a, b, bottom, h, s.Gap, n, func(k int, x float64) { p.left[k], p.reach[k] = min(p.left[k], x), max(p.reach[k], x) })
		inBands(a, b, bottom, h, 0, n, func(k int, x float64) { p.right[k] = max(p.right[k], x) })
	}
	return p
}

// inBands calls visit for each of n bands of height h above bottom, extended by a margin, that a segment enters or
// leaves.
func inBands(a, b orb.Point, bottom, h, margin float64, n int, visit func(k int, x float64)) {
	if a[1] > b[1] {
		a, b = b, a
	}
	margin += slack
	k0 := int(math.Floor((a[1] - margin - bottom) / h))
	k1 := int(math.Floor((b[1] + margin - bottom) / h))
	for k := max(k0, 0); k <= min(k1, n-1); k++ {
		if a[1] == b[1] {
			visit(k, a[0])
			visit(k, b[0])
			continue
		}
		lo := bottom + float64(k)*h - margin
		for _, y := range [2]float64{lo, lo + h + 2*margin} {
			y = max(a[1], min(b[1], y))
			visit(k, a[0]+(b[0]-a[0])*(y-a[1])/(b[1]-a[1]))
		}
	}
}

// setDown places the pieces in an order, with inside also in openings. front is the occupied length of each band; the
// gap to it is kept.
func (ps *pieces) setDown(order []int, profiles [][]profile, inside bool) []place {
	s := ps.strip
	h := s.Width / bands
	front := make([]float64, bands)
	for k := range front {
		front[k] = -s.Gap
	}
	places := make([]place, len(ps.list))
	faceOf := map[int]int{}
	var open []opening
	settle := func(i int, at place) {
		places[i] = at
		if g := ps.list[i].group; g > 0 {
			faceOf[g] = at.face
		}
		if inside {
			open = append(open, ps.openings(&ps.list[i].faces[at.face], at.at)...)
		}
	}
	for _, i := range order {
		p := &ps.list[i]
		if in, ok := ps.intoOpening(i, open, profiles[p.kind], faceOf); ok {
			settle(i, in)
			continue
		}
		bestEnd, best, bestBand := math.Inf(1), place{face: p.may[0]}, 0
		for _, f := range p.may {
			if was, ok := faceOf[p.group]; ok && was != f {
				continue
			}
			face, pr := &p.faces[f], &profiles[p.kind][f]
			first, last := 0, int((face.y1-face.y0)/h)
			if pr.fixed {
				first, last = pr.band, pr.band
			}
			for band := first; band <= last; band++ {
				at := orb.Point{-face.box.Min[0], face.y0 + float64(band)*h}
				if pr.fixed {
					at[1] = pr.y
				}
				lo := band - pr.below
				for k := max(0, -lo); k < len(pr.left) && lo+k < bands; k++ {
					at[0] = max(at[0], front[lo+k]+s.Gap-pr.left[k])
				}
				at[0] = ps.pastZones(face, at)
				if end := at[0] + face.box.Max[0]; end < bestEnd {
					bestEnd, best, bestBand = end, place{face: f, at: at}, band
				}
			}
		}
		settle(i, best)
		pr := &profiles[p.kind][best.face]
		for k := range pr.right {
			if b := bestBand - pr.below + k; b >= 0 && b < bands && !math.IsInf(pr.right[k], -1) {
				front[b] = max(front[b], best.at[0]+pr.right[k])
			}
		}
	}
	return places
}

// intoOpening places a piece in the first opening that holds it.
func (ps *pieces) intoOpening(i int, open []opening, profiles []profile, faceOf map[int]int) (in place, ok bool) {
	p := &ps.list[i]
	if ps.items[i].Edge != None {
		return in, false
	}
	for k := range open {
		o, band := &open[k], 0
		for _, f := range p.may {
			if was, said := faceOf[p.group]; said && was != f {
				continue
			}
			face := &p.faces[f]
			at, b, fits := o.into(ps.strip, face, &profiles[f])
			if fits && (!ok || at[0]+face.box.Max[0] < in.at[0]+p.faces[in.face].box.Max[0]) && ps.pastZones(face, at) == at[0] {
				in, band, ok = place{face: f, at: at}, b, true
			}
		}
		if ok {
			o.take(&profiles[in.face], in.at[0], band)
			return in, true
		}
	}
	return in, false
}

// pastZones moves a place to the right until its box meets no zone's.
func (ps *pieces) pastZones(f *oriented, at orb.Point) float64 {
	for again := true; again; {
		again = false
		for _, z := range ps.strip.Avoid {
			b := orb.Ring(z).Bound()
			if at[0]+f.box.Min[0] < b.Max[0]-slack && at[0]+f.box.Max[0] > b.Min[0] &&
				at[1]+f.box.Min[1] < b.Max[1] && at[1]+f.box.Max[1] > b.Min[1] {
				at[0], again = b.Max[0]-f.box.Min[0], true
			}
		}
	}
	return at[0]
}
