package lay

import (
	"slices"

	"tracewheel/pipeline/pattern"
)

// garments lays folded cloth whose nap runs one way within a garment. Its strips are searched one after another, so
// the direction of each garment is set before: all the same way, or every other garment reversed, whichever is shorter
// in a short search.
func (s *seeker) garments(fold pattern.Folding, opt Options) (pattern.Lay, error) {
	of := map[int]float64{}
	for i := range s.ready {
		of[s.ready[i].Garment] += s.ready[i].Outline.Area()
	}
	var largest []int
	for g := range of {
		largest = append(largest, g)
	}
	slices.SortFunc(largest, func(a, b int) int {
		if of[a] != of[b] {
			return sign(of[b] - of[a])
		}
		return a - b
	})
	every := map[int]bool{}
	for k := 1; k < len(largest); k += 2 {
		every[largest[k]] = true
	}
	given := func(around map[int]bool) *seeker {
		one := *s
		one.m.Nap, one.wholes, one.around = pattern.NapAll, nil, around
		return &one
	}
	if len(every) == 0 || len(s.m.Turns) > 0 {
		return given(nil).lay(fold, opt)
	}
	quick := opt.quick()
	quick.Progress = nil
	best, around := given(nil), given(every)
	a, errA := best.lay(fold, quick)
	b, errB := around.lay(fold, quick)
	if errB == nil && (errA != nil || b.LengthUsed < a.LengthUsed-1) {
		best = around
	}
	l, err := best.lay(fold, opt.part(0.8))
	l.Material = s.m
	return l, err
}
