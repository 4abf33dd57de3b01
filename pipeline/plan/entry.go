package plan

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/devices"
	"tracewheel/geom"
)

// run is strokes in their order, and for a closed stroke the cost, in mm of travel, of a start at each of its
// vertices. A pen may start anywhere: nil costs nothing.
type run struct {
	strokes []devices.Stroke
	costs   [][]float64
}

func (r *run) cost(i, v int) float64 {
	if r.costs == nil || r.costs[i] == nil {
		return 0
	}
	return r.costs[i][v]
}

// maxEntries bounds the vertices of a closed stroke in the layered search; the passes after it look at all vertices.
const maxEntries = 48

// enter picks the vertices at which closed strokes start and end, for a given order: the shortest way through layers
// of candidates, then passes over all vertices until nothing changes.
func (r *run) enter(start orb.Point) {
	if len(r.strokes) == 0 {
		return
	}
	r.layered(start)
	const maxPasses = 20
	for range maxPasses {
		if !r.pass(start) {
			return
		}
	}
}

func movable(s devices.Stroke) bool { return s.Path.Closed && !s.Fixed && len(s.Path.Points) > 1 }

// candidates are the vertices tried for a stroke; only the first for a stroke whose start is fixed.
func (r *run) candidates(i int) []int {
	s := r.strokes[i]
	if !movable(s) {
		return []int{0}
	}
	n := len(s.Path.Points)
	var cheap []int
	least := math.Inf(1)
	for v := range n {
		c := r.cost(i, v)
		if c < least {
			least, cheap = c, cheap[:0]
		}
		if c == least {
			cheap = append(cheap, v)
		}
	}
	if len(cheap) <= maxEntries {
		return cheap
	}
	out := make([]int, maxEntries)
	for k := range out {
		out[k] = cheap[k*len(cheap)/maxEntries]
	}
	return out
}

// layered is the shortest way through the candidates of all strokes.
func (r *run) layered(start orb.Point) {
	strokes := r.strokes
	type layer struct {
		vertex []int
		best   []float64
		from   []int
	}
	layers := make([]layer, len(strokes))
	for i, s := range strokes {
		l := layer{vertex: r.candidates(i)}
		l.best, l.from = make([]float64, len(l.vertex)), make([]int, len(l.vertex))
		for k, v := range l.vertex {
			in := s.Path.Points[v]
			if i == 0 {
				l.best[k] = geom.Dist(start, in) + r.cost(i, v)
				continue
			}
			l.best[k] = math.Inf(1)
			for j, u := range layers[i-1].vertex {
				if d := layers[i-1].best[j] + geom.Dist(leave(strokes[i-1], u), in); d < l.best[k] {
					l.best[k], l.from[k] = d, j
				}
			}
			l.best[k] += r.cost(i, v)
		}
		layers[i] = l
	}
	last := layers[len(layers)-1]
	k := 0
	for j, d := range last.best {
		if d < last.best[k] {
			k = j
		}
	}
	chosen := make([]int, len(strokes))
	for i := len(layers) - 1; i >= 0; i-- {
		chosen[i] = layers[i].vertex[k]
		k = layers[i].from[k]
	}
	for i := range strokes {
		r.rotate(i, chosen[i])
	}
}

// leave is the place where a stroke entered at vertex v ends.
func leave(s devices.Stroke, v int) orb.Point {
	if s.Path.Closed {
		return s.Path.Points[v]
	}
	return s.Path.Points[len(s.Path.Points)-1]
}

// pass moves each closed stroke's start to the vertex that is best between its neighbours.
func (r *run) pass(start orb.Point) bool {
	strokes := r.strokes
	changed := false
	at := start
	for i := range strokes {
		s := &strokes[i]
		if movable(*s) {
			next := func(p orb.Point) float64 {
				if i+1 == len(strokes) {
					return 0
				}
				in, _ := ends(strokes[i+1])
				return geom.Dist(p, in)
			}
			best, d := 0, geom.Dist(at, s.Path.Points[0])+next(s.Path.Points[0])+r.cost(i, 0)-gainTol
			for v, p := range s.Path.Points {
				if w := geom.Dist(at, p) + next(p) + r.cost(i, v); w < d {
					best, d = v, w
				}
			}
			if best != 0 {
				r.rotate(i, best)
				changed = true
			}
		}
		_, at = ends(*s)
	}
	return changed
}

// rotate makes vertex v of a closed stroke its first.
func (r *run) rotate(i, v int) {
	if v == 0 {
		return
	}
	p := &r.strokes[i].Path
	p.Points = rotated(p.Points, v)
	if p.Corners != nil {
		p.Corners = rotated(p.Corners, v)
	}
	if r.costs != nil && r.costs[i] != nil {
		r.costs[i] = rotated(r.costs[i], v)
	}
}

// rotated is a copy that begins at v.
func rotated[T any](list []T, v int) []T {
	return append(append(make([]T, 0, len(list)), list[v:]...), list[:v]...)
}
