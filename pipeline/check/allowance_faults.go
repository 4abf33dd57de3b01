package check

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom/offset"
)

// fault is a stretch of one edge whose allowance leaves the width it should have.
type fault struct {
	edge     *edgeProfile
	narrow   bool
	want     float64
	full     float64 // the width it leaves from
	worst    sample
	from, to sample
	stretch  []orb.Point
	// hem is a corner cut as close as that of a mitred hem, or a run that leads to one.
	hem bool
	// step is a width that changes at once and keeps to the edge's end.
	step bool
}

// A width may be off by half a millimetre, and by a share of itself where it is wide: the chords of
// a coarse curve take that much, scissors more.
func slack(want, share float64) float64 { return math.Max(plateau, share*want) }

// wanted is the width at a sample: the width that the draft states for the edge, evenly from start to end,
// else what the edge has for most of its length.
func (e *edgeProfile) wanted(sm sample) float64 {
	if e.edge.Allowance == nil {
		return e.base
	}
	t := 0.0
	if e.to > e.from {
		t = (sm.s - e.from) / (e.to - e.from)
	}
	return e.edge.Allowance.From + t*(e.edge.Allowance.To-e.edge.Allowance.From)
}

// off tells whether a sample's width is wrong, and to which side. Near a corner, where the neighbour's
// allowance folds over this one's, twice as much is let pass.
func (w *profile) off(e *edgeProfile, sm sample) (narrow, wide bool) {
	if sm.outside {
		return false, false // the sew line outside is a fault of its own
	}
	want, times := e.wanted(sm), 1.0
	if w.atCorner(e, sm) {
		times = 2
	}
	return sm.d < want-times*slack(want, 0.03), sm.d > want+times*slack(want, 0.05)
}

// atCorner tells whether a sample lies within the reach of a neighbour's allowance.
func (w *profile) atCorner(e *edgeProfile, sm sample) bool {
	return e.before >= 0 && sm.s-e.from < w.edges[e.before].base || e.after >= 0 && e.to-sm.s < w.edges[e.after].base
}

// faults lists the wrong stretches of all edges, in order.
func (w *profile) faults() []fault {
	if !w.looked {
		w.found, w.looked = w.findFaults(), true
	}
	return w.found
}

func (w *profile) findFaults() []fault {
	var out []fault
	for i := range w.edges {
		for k := range w.edges[i].samples {
			if w.edges[i].samples[k].outside {
				return nil // the sew line outside comes first, and may be all that is wrong
			}
		}
	}
	for i := range w.edges {
		e := &w.edges[i]
		if e.edge.Fold || w.liesOnCut(e) {
			continue
		}
		first := len(out)
		for k := 0; k < len(e.samples); {
			narrow, wide := w.off(e, e.samples[k])
			if !narrow && !wide {
				k++
				continue
			}
			begin := k
			for k < len(e.samples) {
				if n, wd := w.off(e, e.samples[k]); n != narrow || wd != wide {
					break
				}
				k++
			}
			if f, ok := w.fault(i, begin, k, narrow); ok {
				out = append(out[:first], withFault(out[first:], f)...)
			}
		}
		if f, ok := w.cornerFault(i); ok {
			out = append(out, f)
		}
	}
	return out
}

// withFault adds a fault to those of its edge, or makes one of it and the last where both are of one
// side and hardly apart: one slip of the hand is one fault.
func withFault(list []fault, f fault) []fault {
	if len(list) == 0 {
		return append(list, f)
	}
	last := &list[len(list)-1]
	if last.narrow != f.narrow || f.from.s > last.to.s+hardlyApart {
		return append(list, f)
	}
	if f.narrow == (f.worst.d < last.worst.d) {
		last.worst, last.want = f.worst, f.want
	}
	if f.narrow == (f.full > last.full) {
		last.full = f.full
	}
	last.to = f.to
	last.stretch = append(last.stretch, f.stretch...)
	last.hem, last.step = last.hem && f.hem, false
	return list
}

// hardlyApart is the way between two stretches, in mm, that makes them one.
const hardlyApart = 20

// liesOnCut is an edge with no allowance at all; that is another rule's.
func (w *profile) liesOnCut(e *edgeProfile) bool {
	return e.base < plateau && (e.edge.Allowance == nil || math.Max(e.edge.Allowance.From, e.edge.Allowance.To) < plateau)
}

// fault makes one of the samples first to end of edge i, if any of them measures the edge's own
// width.
func (w *profile) fault(i, first, end int, narrow bool) (fault, bool) {
	e := &w.edges[i]
	f := fault{edge: e, narrow: narrow}
	lo, hi := -1, -1
	least, most := math.Inf(1), 0.0
	for k := first; k < end; k++ {
		sm := e.samples[k]
		if !w.own(i, sm) {
			continue
		}
		if lo < 0 {
			lo = k
		}
		hi = k
		least, most = math.Min(least, sm.d), math.Max(most, sm.d)
		if lo == k || narrow == (sm.d < f.worst.d) {
			f.worst, f.want = sm, e.wanted(sm)
		}
	}
	if lo < 0 {
		return f, false
	}
	f.step = most-least <= plateau && math.Abs(f.worst.d-f.want) >= 3*plateau && w.toOneEnd(i, lo, hi)
	// The stretch is shown from where the width begins to leave to where it is back.
	lo, hi = w.leaves(i, lo, -1, narrow), w.leaves(i, hi, 1, narrow)
	f.from, f.to = e.samples[lo], e.samples[hi]
	f.full = f.want
	if e.edge.Allowance == nil {
		f.full = e.fullWidth(f.want, e.samples[max(lo-1, 0)], e.samples[min(hi+1, len(e.samples)-1)], f)
	}
	f.stretch = stretch(e.samples[lo : hi+1])
	f.hem = narrow && w.hemCorner(i, f)
	return f, true
}

// toOneEnd tells whether a run of one width goes from somewhere on the edge to one of its ends, as
// where the allowance steps for a zip; a run that comes back is a slip.
func (w *profile) toOneEnd(i, lo, hi int) bool {
	e := &w.edges[i]
	reach := func(neighbour int) float64 {
		if neighbour < 0 {
			return 5
		}
		return 5 + math.Max(e.base, w.edges[neighbour].base)
	}
	from, to := e.samples[lo].s, e.samples[hi].s
	atStart, atEnd := from-e.from <= reach(e.before), e.to-to <= reach(e.after)
	return to-from >= 20 && atStart != atEnd
}

// hemCorner tells whether a narrow run leads to a corner cut like that of a mitred hem: both hems are
// turned up there, and some 6 mm are left beyond the line on which their folds meet.
func (w *profile) hemCorner(i int, f fault) bool {
	e := &w.edges[i]
	like := func(d float64) bool { return math.Abs(d-offset.MitredHemSeam) <= 1.5 }
	if e.before >= 0 && f.to.s-e.from < 1.5*math.Max(e.base, w.edges[e.before].base) && like(e.samples[0].d) {
		return true
	}
	return e.after >= 0 && e.to-f.from.s < 1.5*math.Max(e.base, w.edges[e.after].base) && like(e.samples[len(e.samples)-1].d)
}

// leaves walks from sample k on to where the width stops coming back to what it should be.
func (w *profile) leaves(i, k, step int, narrow bool) int {
	e := &w.edges[i]
	for {
		next := k + step
		if next < 0 || next >= len(e.samples) || e.samples[next].outside {
			return k
		}
		a, b := e.samples[k].d, e.samples[next].d
		if end := next == 0 || next == len(e.samples)-1; end {
			return next
		}
		if narrow && b <= a+1e-9 || !narrow && b >= a-1e-9 {
			return k
		}
		k = next
	}
}

// fullWidth is the width from which a stretch leaves, for the words: what is measured at its ends
// where that is nearer to the truth than the width of the edge as a whole.
func (e *edgeProfile) fullWidth(want float64, before, after sample, f fault) float64 {
	full := want
	for _, sm := range []sample{f.from, f.to, before, after} {
		if math.Abs(sm.d-want) <= slack(want, 0.05) && (f.narrow == (sm.d > full)) {
			full = sm.d
		}
	}
	return full
}

// cornerFault is a cut line that passes the corner at the edge's end closer than either edge's
// width: a tip cut off too short.
func (w *profile) cornerFault(i int) (fault, bool) {
	e := &w.edges[i]
	if e.after < 0 || len(e.samples) == 0 {
		return fault{}, false
	}
	sm := e.samples[len(e.samples)-1]
	next := &w.edges[e.after]
	want := math.Min(e.wanted(sm), next.wanted(sample{s: next.from}))
	if sm.outside || sm.d >= want-slack(want, 0.03) {
		return fault{}, false
	}
	if k := len(e.samples) - 1; k > 0 && w.own(i, e.samples[k-1]) {
		if narrow, _ := w.off(e, e.samples[k-1]); narrow {
			return fault{}, false // the edge itself is narrow up to here, and said so
		}
	}
	if len(next.samples) > 1 && w.own(e.after, next.samples[1]) {
		if narrow, _ := w.off(next, next.samples[1]); narrow {
			return fault{}, false
		}
	}
	return fault{edge: e, narrow: true, want: want, full: want, worst: sm, from: sm, to: sm,
		stretch: []orb.Point{sm.at, sm.cut}, hem: math.Abs(sm.d-offset.MitredHemSeam) <= 1.5}, true
}
