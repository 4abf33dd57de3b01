package lay

import (
	"context"
	"slices"
	"sort"

	"tracewheel/pipeline/pattern"
)

// Beds distributes pieces to beds that a machine cuts one after another, because they need more than the m.Length of
// one: each piece is whole on one bed, so that no cut continues on the next. A bed takes the pieces in the order of
// ready as far as they fit, then later ones that still fit. spare is the length, mm, that a bed leaves free at its end
// where possible. The result is the pieces of each bed, by index in ready, and the cloth that all beds take; nil where
// a piece fits on no bed. The pieces of a bed fit on it in the first lay of a search.
func Beds(ctx context.Context, ready []pattern.Ready, m pattern.Material, spare float64, opt Options) (beds [][]int, long float64) {
	opt.Steps, opt.Time, opt.Over, opt.Progress = 0, 0, nil, nil
	full := m.Length
	var left []int
	for i := range ready {
		left = append(left, i)
	}
	for len(left) > 0 {
		m.Length = full - spare
		bed, used := fill(ctx, ready, left, m, opt)
		if len(bed) == 0 { // the piece is nearly as long as the bed
			m.Length = full
			bed, used = fill(ctx, ready, left, m, opt)
		}
		if len(bed) == 0 || ctx.Err() != nil {
			return nil, 0
		}
		beds, long = append(beds, bed), long+used
		left = slices.DeleteFunc(left, func(i int) bool { return slices.Contains(bed, i) })
	}
	return beds, long
}

// fill takes from the pieces left those that fit on one bed of the m.Length, and gives the length of their lay.
func fill(ctx context.Context, ready []pattern.Ready, left []int, m pattern.Material, opt Options) (bed []int, used float64) {
	fits := func(some []int) (float64, bool) {
		on := make([]pattern.Ready, len(some))
		for k, i := range some {
			on[k] = ready[i]
		}
		l, found := OnMachine(ctx, on, m, opt)
		return l.LengthUsed, len(found) == 0
	}
	n := sort.Search(len(left), func(k int) bool { _, ok := fits(left[:k+1]); return !ok })
	if n == 0 {
		return nil, 0
	}
	bed = slices.Clone(left[:n])
	used, _ = fits(bed)
	type kind struct {
		draft, index int
		size         string
		mirrored     bool
	}
	refused := map[kind]bool{} // kinds of which no further piece fits
	for _, i := range left[n:] {
		of := kind{ready[i].Draft, ready[i].Index, ready[i].Size, ready[i].Mirrored}
		if refused[of] {
			continue
		}
		if long, ok := fits(append(slices.Clone(bed), i)); ok {
			bed, used = append(bed, i), long
		} else {
			refused[of] = true
		}
	}
	return bed, used
}
