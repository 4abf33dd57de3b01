package plan

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/devices"
)

// rounds is how often order and starting vertices are improved alternately.
const rounds = 3

// arrange orders strokes for short travel from start and gives the place where the tool ends. It may reverse open
// strokes and start closed ones at any vertex; fixed strokes keep their direction and start.
func (r *run) arrange(start orb.Point, effort int) orb.Point {
	if len(r.strokes) == 0 {
		return start
	}
	kicks, times := kicksFor(len(r.strokes), effort), rounds
	if !slices.ContainsFunc(r.strokes, movable) {
		times = 1 // no start to choose
	}
	best, least := run{}, math.Inf(1)
	for k := range times {
		share := kicks / (2 * rounds)
		if k == times-1 {
			share = kicks - k*share
		}
		r.reorder(start, share, k > 0)
		r.enter(start)
		if d := r.total(start); d < least-gainTol {
			least = d
			best = run{slices.Clone(r.strokes), slices.Clone(r.costs)}
		}
	}
	*r = best
	_, at := ends(r.strokes[len(r.strokes)-1])
	return at
}

// total is the travel plus the costs of all starts.
func (r *run) total(start orb.Point) float64 {
	sum := travel(r.strokes, start)
	for i := range r.strokes {
		sum += r.cost(i, 0)
	}
	return sum
}

// reorder orders the strokes for a short way.
func (r *run) reorder(start orb.Point, kicks int, given bool) {
	items := make([][2]orb.Point, len(r.strokes))
	for i, s := range r.strokes {
		items[i][0], items[i][1] = ends(s)
	}
	strokes := make([]devices.Stroke, 0, len(items))
	var costs [][]float64
	for _, v := range path(items, start, kicks, given) {
		s := r.strokes[v.item]
		if v.turned && !s.Path.Closed && !s.Fixed && s.Label == nil {
			s.Path = s.Path.Reversed()
		}
		strokes = append(strokes, s)
		if r.costs != nil {
			costs = append(costs, r.costs[v.item])
		}
	}
	r.strokes, r.costs = strokes, costs
}

// group is a set of strokes that is drawn at a stretch: those of one frame or sheet, and of one pen.
type group struct{ window, pen int }

// orderDrawn orders the pens' strokes.
func orderDrawn(strokes []devices.Stroke, p devices.Profile, opt Options) ([]devices.Stroke, orb.Point) {
	groups := map[group][]devices.Stroke{}
	var keys []group
	for _, s := range strokes {
		g := group{window(s, p), p.Pen.For(s.Role)}
		if groups[g] == nil {
			keys = append(keys, g)
		}
		groups[g] = append(groups[g], s)
	}
	slices.SortFunc(keys, func(a, b group) int {
		if a.window != b.window {
			return a.window - b.window
		}
		return a.pen - b.pen
	})
	out, at := make([]devices.Stroke, 0, len(strokes)), opt.Start
	for _, g := range keys {
		r := run{strokes: groups[g]}
		at = r.arrange(at, opt.Effort)
		out = append(out, r.strokes...)
	}
	return out, at
}

// window is the frame or sheet on which a stroke begins.
func window(s devices.Stroke, p devices.Profile) int {
	q := p.Plot
	step := q.FrameLength - q.FrameOverlap
	if q.Long != "frames" && q.Long != "sheets" || step <= 0 {
		return 0
	}
	return max(0, int(s.Path.Bound().Min[0]/step))
}
