package separation

import (
	"cmp"
	"slices"
)

// A piece slides in steps that are halved from slideFrom down to slideTo, mm; compactRounds bounds the passes over
// all.
const (
	slideFrom     = 64.0
	slideTo       = 1e-5
	compactRounds = 20
)

// compact slides the pieces of an arrangement without conflict towards x = 0 until none moves, the leftmost first. The
// search shortens the length in steps, and leaves up to one step of free space between the pieces.
func (w *work) compact() {
	order := make([]int, w.n)
	for i := range order {
		order[i] = i
	}
	left := func(i int) float64 { return w.x[i] + w.tab.faces[w.face[i]].box.Min[0] }
	for range compactRounds {
		slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(left(i), left(j)) })
		moved := 0.0
		for _, i := range order {
			before := w.x[i]
			for step := slideFrom; step >= slideTo; {
				if x := max(w.x[i]-step, -w.tab.faces[w.face[i]].box.Min[0]); x >= w.x[i] || !w.freeAt(i, x) {
					step /= 2
				} else {
					w.x[i] = x
				}
			}
			moved = max(moved, before-w.x[i])
		}
		if moved < slideTo {
			break
		}
	}
	w.measure()
}

// freeAt reports whether a piece is in no conflict with its origin at x.
func (w *work) freeAt(i int, x float64) bool {
	was := w.x[i]
	w.x[i] = x
	free := true
	for j := 0; j < w.all && free; j++ {
		free = j == i || w.pairDepth(i, j) == 0
	}
	w.x[i] = was
	return free
}
