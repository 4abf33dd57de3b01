package check

import (
	"math"

	"tracewheel/geom"
)

const (
	// plateau is the spread within which an allowance counts as one width: chords of a coarse curve
	// take some hundredths, careless drawing some tenths.
	plateau = 0.5
	// aslant is the sine of the angle by which the way to the nearest cut line may lean from the
	// square on the sew line and still measure this edge's own allowance.
	aslant = 0.25
	// mostly is the share of an edge from which a width counts as the edge's own. Where none has as
	// much, the width runs from one to another, and the wider is meant.
	mostly = 0.6
	// atEnd is how near, in mm, the end of an edge a place counts as the corner itself.
	atEnd = 0.3
)

// base is the width that edge i has for most of its length; where it has none, the widest but for
// a twentieth of it, from which it then shrinks.
func (w *profile) base(i int) float64 {
	e := &w.edges[i]
	if len(e.samples) == 0 {
		return 0
	}
	width, share := commonWidth(e.samples, nil)
	if share >= mostly {
		return width
	}
	own := func(k int) bool { return w.own(i, e.samples[k]) }
	ownWidth, ownShare := commonWidth(e.samples, own)
	switch {
	case ownShare == 0: // a short edge that lies wholly within its neighbours' corners
		return width
	case ownShare >= mostly:
		return ownWidth
	}
	return nearWidest(e.samples, own)
}

// commonWidth finds the width that the greatest length of the edge has, within plateau, and that
// length's share. Samples for which use is false are left out; nil uses all.
func commonWidth(samples []sample, use func(int) bool) (width, share float64) {
	lo, hi := math.Inf(1), math.Inf(-1)
	var kept int
	for k, sm := range samples {
		if use == nil || use(k) {
			lo, hi = math.Min(lo, sm.d), math.Max(hi, sm.d)
			kept++
		}
	}
	if kept == 0 {
		return 0, 0
	}
	if hi-lo <= plateau {
		return meanWidth(samples, use, lo, hi), 1
	}
	const bin = plateau / 5
	weight := make([]float64, min(int((hi-lo)/bin)+1, 20000))
	var sum float64
	for k, sm := range samples {
		if use == nil || use(k) {
			l := reach(samples, k)
			weight[min(int((sm.d-lo)/bin), len(weight)-1)] += l
			sum += l
		}
	}
	best, at, run := -1.0, 0, 0.0
	for b := range weight {
		run += weight[b]
		if b >= 5 {
			run -= weight[b-5]
		}
		if run >= best-1e-9 { // of two equally common widths the wider is meant
			best, at = run, b
		}
	}
	if sum <= 0 {
		return lo, 1
	}
	from := lo + bin*float64(at-4)
	return meanWidth(samples, use, from, from+plateau), best / sum
}

func meanWidth(samples []sample, use func(int) bool, lo, hi float64) float64 {
	var sum, weight float64
	for k, sm := range samples {
		if (use == nil || use(k)) && sm.d >= lo && sm.d <= hi {
			l := reach(samples, k) + 1e-12
			sum, weight = sum+l*sm.d, weight+l
		}
	}
	if weight == 0 {
		return (lo + hi) / 2
	}
	return sum / weight
}

// reach is the length of edge that a sample stands for.
func reach(samples []sample, k int) float64 {
	lo, hi := max(k-1, 0), min(k+1, len(samples)-1)
	return (samples[hi].s - samples[lo].s) / 2
}

func nearWidest(samples []sample, use func(int) bool) float64 {
	hi, runnerUp := 0.0, 0.0
	for k, sm := range samples {
		if !use(k) {
			continue
		}
		if sm.d > hi {
			hi, runnerUp = sm.d, hi
		} else if sm.d > runnerUp {
			runnerUp = sm.d
		}
	}
	if hi-runnerUp > 1 { // one place alone is no width
		return runnerUp
	}
	return hi
}

// own tells whether a sample of edge i measures that edge's own allowance. Near a corner the nearest
// cut line is often the other edge's - 20 mm from the side seam a hem of 40 reads less - and in a
// closing corner it is the cut line's own corner, further off than the width; neither is a fault.
// So the way back from the cut line must lead to this edge, not to its end, and the way there must
// stand about square.
func (w *profile) own(i int, sm sample) bool {
	e := &w.edges[i]
	if sm.s-e.from < atEnd || e.to-sm.s < atEnd {
		return false // corners are looked at apart
	}
	// The place nearest to a sharp dip may be half a step beside it.
	if along := geom.Dot(sm.dir, geom.Sub(sm.cut, sm.at)); math.Abs(along) > math.Max(aslant*sm.d, 0.6*stepMM) {
		return false
	}
	line, foot := w.sew.Nearest(sm.cut)
	if line != e.line {
		return false
	}
	s := foot.S
	if s < e.from-atEnd {
		s += w.lengths[line]
	}
	return s > e.from+atEnd && s < e.to-atEnd
}
