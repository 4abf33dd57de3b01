package separation

import (
	"cmp"
	"slices"
)

// disturb swaps two of the larger pieces or, occasionally, turns a group.
func (w *work) disturb() {
	if len(w.groups) > 0 && w.rng.IntN(4) == 0 {
		w.turnGroup(w.groups[w.rng.IntN(len(w.groups))])
	} else if w.n > 1 {
		w.swap()
	}
	w.measure()
}

// turnGroup gives all pieces of a group another turn, each about its middle.
func (w *work) turnGroup(members []int) {
	may := w.ps.list[members[0]].may
	to := may[w.rng.IntN(len(may))]
	for _, i := range members {
		x, y := w.middle(i)
		w.face[i] = int32(w.tab.first[w.ps.list[i].kind] + to)
		w.putMiddle(i, x, y)
	}
}

// swap exchanges two of the pieces that make up the larger half of the area, of two kinds if possible.
func (w *work) swap() {
	order := make([]int, w.n)
	var all float64
	for i := range order {
		order[i] = i
		all += w.ps.list[i].area
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Or(cmp.Compare(w.size[b], w.size[a]), a-b) })
	sum, large := 0.0, 0
	for large < w.n && (sum < all/2 || large < 2) {
		sum += w.ps.list[order[large]].area
		large++
	}
	a := order[w.rng.IntN(large)]
	b := a
	for range 20 {
		if b = order[w.rng.IntN(large)]; w.ps.list[a].kind != w.ps.list[b].kind {
			break
		}
	}
	ax, ay := w.middle(a)
	bx, by := w.middle(b)
	w.putMiddle(a, bx, by)
	w.putMiddle(b, ax, ay)
}

func (w *work) middle(i int) (x, y float64) {
	b := &w.tab.faces[w.face[i]].box
	return w.x[i] + (b.Min[0]+b.Max[0])/2, w.y[i] + (b.Min[1]+b.Max[1])/2
}

func (w *work) putMiddle(i int, x, y float64) {
	f := int(w.face[i])
	b := &w.tab.faces[f].box
	w.x[i], w.y[i] = w.within(f, x-(b.Min[0]+b.Max[0])/2, y-(b.Min[1]+b.Max[1])/2)
}
