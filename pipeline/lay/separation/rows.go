package separation

import (
	"cmp"
	"slices"

	"github.com/paulmach/orb"
)

// rowPlaces lays the boxes of the pieces in rows across the strip, the longest first, each in the first row with room,
// so that no lay is longer than what a person can lay by hand. ok is false where pieces must be on an edge of the
// strip.
func (ps *pieces) rowPlaces() (places []place, ok bool) {
	s := ps.strip
	least := func(i int) int { // the orientation that takes the least length
		p := &ps.list[i]
		return slices.MinFunc(p.may, func(a, b int) int { return cmp.Compare(along(&p.faces[a]), along(&p.faces[b])) })
	}
	order, faces := make([]int, len(ps.list)), make([]int, len(ps.list))
	faceOf := map[int]int{}
	for i := range ps.list {
		if ps.items[i].Edge != None {
			return nil, false
		}
		order[i], faces[i] = i, least(i)
		if g := ps.list[i].group; g > 0 {
			if f, said := faceOf[g]; said {
				faces[i] = f
			}
			faceOf[g] = faces[i]
		}
	}
	face := func(i int) *oriented { return &ps.list[i].faces[faces[i]] }
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(along(face(j)), along(face(i))) })
	type row struct{ x, depth, used float64 }
	var rows []row
	places = make([]place, len(ps.list))
	for _, i := range order {
		f := face(i)
		wide := f.box.Max[1] - f.box.Min[1]
		k := slices.IndexFunc(rows, func(r row) bool { return r.used+s.Gap+wide <= s.Width+slack })
		if k < 0 {
			r := row{depth: along(f), used: -s.Gap}
			if n := len(rows); n > 0 {
				r.x = rows[n-1].x + rows[n-1].depth + s.Gap
			}
			k, rows = len(rows), append(rows, r)
		}
		r := &rows[k]
		places[i] = place{face: faces[i], at: orb.Point{r.x - f.box.Min[0], r.used + s.Gap - f.box.Min[1]}}
		r.used += s.Gap + wide
	}
	return places, true
}

// along is the length that an orientation takes along the strip.
func along(f *oriented) float64 { return f.box.Max[0] - f.box.Min[0] }
