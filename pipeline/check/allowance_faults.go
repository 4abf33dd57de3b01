package check

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/pattern"
)

// fault is a stretch of one edge whose allowance leaves the width it should have.
type fault struct {
	edge     *edgeProfile
	narrow   bool
	want     float64
	worst    sample
	from, to sample
	stretch  []orb.Point
}

// A width may be off by half a millimetre, and by a share of itself where it is wide: the chords of
// a coarse curve take that much, scissors more.
func slack(want, share float64) float64 { return math.Max(plateau, share*want) }

// wanted is the width at a sample: what the draft states for the edge, evenly from start to end,
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

// off tells whether a sample's width is wrong, and to which side.
func (e *edgeProfile) off(sm sample) (narrow, wide bool) {
	want := e.wanted(sm)
	if sm.outside {
		return false, false // the sew line outside is a fault of its own
	}
	return sm.d < want-slack(want, 0.03), sm.d > want+slack(want, 0.05)
}

// faults lists the wrong stretches of all edges, in order.
func (w *profile) faults() []fault {
	var out []fault
	for i := range w.edges {
		e := &w.edges[i]
		if e.edge.Fold || w.liesOnCut(e) {
			continue
		}
		for k := 0; k < len(e.samples); {
			narrow, wide := e.off(e.samples[k])
			if !narrow && !wide {
				k++
				continue
			}
			first := k
			for k < len(e.samples) {
				if n, wd := e.off(e.samples[k]); n != narrow || wd != wide {
					break
				}
				k++
			}
			if f, ok := w.fault(i, first, k, narrow); ok {
				out = append(out, f)
			}
		}
		if f, ok := w.cornerFault(i); ok {
			out = append(out, f)
		}
	}
	return out
}

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
	for k := first; k < end; k++ {
		sm := e.samples[k]
		if !w.own(i, sm) {
			continue
		}
		if lo < 0 {
			lo = k
		}
		hi = k
		if lo == k || narrow == (sm.d < f.worst.d) {
			f.worst, f.want = sm, e.wanted(sm)
		}
	}
	if lo < 0 {
		return f, false
	}
	// The stretch is shown from where the width begins to leave to where it is back.
	lo, hi = max(lo-1, 0), min(hi+1, len(e.samples)-1)
	f.from, f.to = e.samples[lo], e.samples[hi]
	for k := lo; k <= hi; k++ {
		f.stretch = append(f.stretch, e.samples[k].at)
	}
	return f, true
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
		if narrow, _ := e.off(e.samples[k-1]); narrow {
			return fault{}, false // the edge itself is narrow up to here, and said so
		}
	}
	if len(next.samples) > 1 && w.own(e.after, next.samples[1]) {
		if narrow, _ := next.off(next.samples[1]); narrow {
			return fault{}, false
		}
	}
	return fault{edge: e, narrow: true, want: want, worst: sm, from: sm, to: sm, stretch: []orb.Point{sm.at, sm.cut}}, true
}

// faultFinding puts a fault into words.
func (s *subject) faultFinding(rule string, f fault) pattern.Finding {
	verb := "grows"
	if f.narrow {
		verb = "shrinks"
	}
	where := s.edgeWords(f.edge)
	var message string
	if f.from.at == f.to.at {
		message = fmt.Sprintf("the allowance %s from %s to %s at the corner %s of %s", verb,
			s.say.number(f.want), s.say.length(f.worst.d), s.say.place(f.worst.at), where)
	} else {
		message = fmt.Sprintf("the allowance %s from %s to %s between %s and %s on %s", verb,
			s.say.number(f.want), s.say.length(f.worst.d), s.say.place(f.from.at), s.say.place(f.to.at), where)
	}
	if f.edge.edge.Allowance != nil {
		message += ", where the draft states " + s.say.length(f.want)
	}
	mend := fmt.Sprintf("redraw the cut line there %s from the sew line, or state the width of the edge if it is meant to change",
		s.say.length(f.want))
	out := s.at(rule, f.worst.at, message, mend)
	out.Edge = edgeName(f.edge.edge)
	out.Stretch = f.stretch
	return out
}

// edgeWords names an edge, or says from where to where it runs.
func (s *subject) edgeWords(e *edgeProfile) string {
	if name := edgeName(e.edge); name != "" {
		return fmt.Sprintf("the %q edge", name)
	}
	if len(e.samples) == 0 {
		return "an edge"
	}
	return fmt.Sprintf("the edge from %s to %s", s.say.place(e.samples[0].at),
		s.say.place(e.samples[len(e.samples)-1].at))
}
