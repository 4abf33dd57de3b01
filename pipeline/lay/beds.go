package lay

import (
	"context"
	"math"
	"sort"

	"tracewheel/pipeline/pattern"
)

// Beds deals pieces to beds that a machine cuts one after the other, because they take more than the m.Length of one: each
// piece lies whole on one of them, in the order of ready, so that no cut goes on on the next bed. spare is what every bed
// leaves free at its end where it can, mm. The result is the pieces of each bed, by their places in ready, and how much
// cloth all beds take; nil where a piece fits on none. What is dealt to a bed fits on it in the first lay that is sought.
func Beds(ctx context.Context, ready []pattern.Ready, m pattern.Material, spare float64, opt Options) (beds [][]int, long float64) {
	opt.Steps, opt.Time, opt.Over, opt.Progress = 0, 0, nil, nil
	full := m.Length
	on := func(from, to int, length float64) float64 {
		m.Length = length
		l, found := OnMachine(ctx, ready[from:to], m, opt)
		if len(found) > 0 {
			return math.Inf(1)
		}
		return l.LengthUsed
	}
	for from := 0; from < len(ready); {
		most := func(length float64) int { // how many pieces fit: with one more they do not
			return sort.Search(len(ready)-from, func(k int) bool { return math.IsInf(on(from, from+k+1, length), 1) })
		}
		length := full - spare
		n := most(length)
		if n == 0 { // the piece is nearly as long as the bed
			length = full
			n = most(length)
		}
		if n == 0 || ctx.Err() != nil {
			return nil, 0
		}
		var bed []int
		for i := range n {
			bed = append(bed, from+i)
		}
		beds, long, from = append(beds, bed), long+on(from, from+n, length), from+n
	}
	return beds, long
}
