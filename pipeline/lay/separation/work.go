package separation

import (
	"math"
	"math/rand/v2"
	"slices"
)

// work is an arrangement under repair: pieces may overlap, and each pair has a weight that grows while it does. All
// data are in flat arrays; zones to avoid are appended as pieces that never move.
type work struct {
	ps     *pieces
	tab    *table
	rng    *rand.Rand
	n, all int // number of pieces; of pieces and zones
	length float64
	x, y   []float64
	face   []int32 // index into the table
	weight []float64
	depth  []float64 // of each pair, kept up to date
	size   []float64 // of each piece: the factor for its overlaps
	total  float64   // sum of depths, each pair once
	moves  int
	around []around // one for each orientation of the moved piece
	queue  []int
	groups [][]int // pieces that turn alike and have several turns
	hits   []hit
}

// sizePower is the exponent by which overlaps of large pieces cost more: they are harder to free.
const sizePower = 0.4

func newWork(ps *pieces, tab *table, seed, lane uint64) *work {
	n, all := len(ps.list), len(ps.list)+len(ps.strip.Avoid)
	w := &work{ps: ps, tab: tab, n: n, all: all, rng: rand.New(rand.NewPCG(seed, lane))}
	w.x, w.y, w.face = make([]float64, all), make([]float64, all), make([]int32, all)
	w.weight, w.depth, w.size = make([]float64, all*all), make([]float64, all*all), make([]float64, all)
	most := 0
	var mean float64
	for i, p := range ps.list {
		w.size[i] = math.Pow(p.area, sizePower)
		mean += w.size[i] / float64(n)
		most = max(most, len(p.may))
	}
	for i := range w.size {
		w.size[i] /= mean
		if i >= n {
			w.size[i] = 2
			w.face[i] = int32(len(tab.faces) - all + i)
		}
	}
	for _, g := range ps.groups() {
		if len(ps.list[g[0]].may) > 1 {
			w.groups = append(w.groups, g)
		}
	}
	w.around = make([]around, most)
	w.calm()
	return w
}

// calm resets all weights.
func (w *work) calm() {
	for k := range w.weight {
		w.weight[k] = 1
	}
}

func (w *work) load(places []place, length float64) {
	w.length = length
	for i, pl := range places {
		f := w.tab.first[w.ps.list[i].kind] + pl.face
		w.face[i] = int32(f)
		w.x[i], w.y[i] = w.within(f, pl.at[0], pl.at[1])
	}
	w.measure()
}

func (w *work) places() []place {
	out := make([]place, w.n)
	for i := range out {
		out[i].face = int(w.face[i]) - w.tab.first[w.ps.list[i].kind]
		out[i].at = [2]float64{w.x[i], w.y[i]}
	}
	return out
}

// within clamps a place to the range of an orientation inside the strip.
func (w *work) within(f int, x, y float64) (float64, float64) {
	fc := &w.tab.faces[f]
	return max(-fc.box.Min[0], min(x, w.length-fc.box.Max[0])), max(fc.y0, min(y, fc.y1))
}

// measure computes all depths again.
func (w *work) measure() {
	w.total = 0
	for i := range w.n {
		w.depth[i*w.all+i] = w.over(i)
		w.total += w.over(i)
		for j := i + 1; j < w.all; j++ {
			d := w.pairDepth(i, j)
			w.depth[i*w.all+j], w.depth[j*w.all+i] = d, d
			w.total += d
		}
	}
}

// over is how far a piece extends beyond the set length; it is stored as the depth of the piece with itself.
func (w *work) over(i int) float64 {
	d := w.x[i] + w.tab.faces[w.face[i]].box.Max[0] - w.length
	if d < slack/10 {
		return 0
	}
	return d
}

func (w *work) pairDepth(i, j int) float64 {
	a, b := &w.tab.faces[w.face[i]].box, &w.tab.faces[w.face[j]].box
	dx, dy, gap := w.x[j]-w.x[i], w.y[j]-w.y[i], w.tab.gap
	if dx >= a.Max[0]-b.Min[0]+gap || dx <= a.Min[0]-b.Max[0]-gap || dy >= a.Max[1]-b.Min[1]+gap || dy <= a.Min[1]-b.Max[1]-gap {
		return 0
	}
	return w.tab.of(int(w.face[i]), int(w.face[j])).depth(dx, dy)
}

// remeasure computes the depths of one piece.
func (w *work) remeasure(i int) {
	row := w.depth[i*w.all : (i+1)*w.all]
	for j := range row {
		d := 0.0
		if j == i {
			d = w.over(i)
		} else {
			d = w.pairDepth(i, j)
		}
		w.total += d - row[j]
		row[j], w.depth[j*w.all+i] = d, d
	}
}

// inConflict lists the pieces with overlaps, in random order.
func (w *work) inConflict() []int {
	w.queue = w.queue[:0]
	for i := range w.n {
		for _, d := range w.depth[i*w.all : (i+1)*w.all] {
			if d > 0 {
				w.queue = append(w.queue, i)
				break
			}
		}
	}
	w.rng.Shuffle(len(w.queue), func(a, b int) { w.queue[a], w.queue[b] = w.queue[b], w.queue[a] })
	return w.queue
}

// Factors of a pair's weight in a round: heavier to heaviest with an overlap, growing with its depth, lighter without.
const (
	heavier  = 1.2
	heaviest = 2.0
	lighter  = 0.95
)

func (w *work) reweigh() {
	deepest := 0.0
	for i := range w.n {
		deepest = max(deepest, slices.Max(w.depth[i*w.all:(i+1)*w.all]))
	}
	if deepest == 0 {
		return
	}
	for i := range w.n {
		row := w.depth[i*w.all : (i+1)*w.all]
		weights := w.weight[i*w.all : (i+1)*w.all]
		for j, d := range row {
			if d > 0 {
				weights[j] *= heavier + (heaviest-heavier)*d/deepest
			} else if weights[j] > 1 {
				weights[j] = max(1, weights[j]*lighter)
			}
		}
	}
}

// shrink sets a shorter length: the pieces right of a random place move left, so that the new conflicts are in one
// place.
func (w *work) shrink(length float64) {
	by := w.length - length
	split := w.rng.Float64() * w.length
	w.length = length
	for i := range w.n {
		f := int(w.face[i])
		b := &w.tab.faces[f].box
		x := w.x[i]
		if x+(b.Min[0]+b.Max[0])/2 > split {
			x -= by
		}
		w.x[i], w.y[i] = w.within(f, x, w.y[i])
	}
	w.measure()
}
