package separation

import "math"

// around is the surroundings of one orientation of the moved piece: for each other piece the box of places of the
// moved piece's origin at which the two can be in conflict.
type around struct {
	face           int
	x0, y0, x1, y1 float64 // range of its origin inside the strip
	with           []with
}

type with struct {
	x0, y0, x1, y1 float64
	x, y           float64 // place of the other piece
	weight         float64
	pair           *pair // filled in when first needed
	other          int32
}

// hit is a limit near a place: the depth of the violation, below 0 for none, and the way out.
type hit struct{ depth, nx, ny, weight float64 }

// start is a place from which a way to less conflict is searched.
type start struct {
	face       int // index into around
	x, y, cost float64
}

func (w *work) look(s *around, i, face int) {
	f := &w.tab.faces[face]
	s.face = face
	s.x0, s.x1 = -f.box.Min[0], w.length-f.box.Max[0]
	s.y0, s.y1 = f.y0, f.y1
	s.with = s.with[:0]
	gap := w.tab.gap
	row := w.weight[i*w.all : (i+1)*w.all]
	for j := range w.all {
		if j == i {
			continue
		}
		g := &w.tab.faces[w.face[j]]
		x, y := w.x[j], w.y[j]
		s.with = append(s.with, with{
			x0: x + g.box.Min[0] - f.box.Max[0] - gap, x1: x + g.box.Max[0] - f.box.Min[0] + gap,
			y0: y + g.box.Min[1] - f.box.Max[1] - gap, y1: y + g.box.Max[1] - f.box.Min[1] + gap,
			x: x, y: y, weight: row[j] * w.size[j], other: int32(j),
		})
	}
}

func (w *work) pairOf(s *around, o *with) *pair {
	if o.pair == nil {
		o.pair = w.tab.of(int(w.face[o.other]), s.face)
	}
	return o.pair
}

// cost is the weighted conflict at a place; the sum stops at bound.
func (w *work) cost(s *around, x, y, bound float64) float64 {
	var sum float64
	for k := range s.with {
		o := &s.with[k]
		if x <= o.x0 || x >= o.x1 || y <= o.y0 || y >= o.y1 {
			continue
		}
		sum += o.weight * w.pairOf(s, o).depth(x-o.x, y-o.y)
		if sum >= bound {
			return sum
		}
	}
	return sum
}

// roughCost is the same from the middles of cells.
func (w *work) roughCost(s *around, x, y, bound float64) float64 {
	var sum float64
	for k := range s.with {
		o := &s.with[k]
		if x <= o.x0 || x >= o.x1 || y <= o.y0 || y >= o.y1 {
			continue
		}
		sum += o.weight * w.pairOf(s, o).rough(x-o.x, y-o.y)
		if sum >= bound {
			return sum
		}
	}
	return sum
}

// Number of places examined for each orientation of a piece, over the whole strip and near its place, and number of
// the best ones that are followed.
const (
	farSamples  = 20
	nearSamples = 10
	followed    = 3
)

// move puts a piece at the place with the least weighted conflict of those examined, if that is less than now.
func (w *work) move(i int) {
	w.moves++
	p := &w.ps.list[i]
	now := int(w.face[i])
	var best [8]start
	kept := 0
	keep := func(c start) {
		k := kept
		if kept < followed {
			kept++
		} else if c.cost >= best[k-1].cost {
			return
		} else {
			k--
		}
		for k > 0 && best[k-1].cost > c.cost {
			best[k] = best[k-1]
			k--
		}
		best[k] = c
	}
	bound := func() float64 {
		if kept < followed {
			return math.Inf(1)
		}
		return best[kept-1].cost
	}
	first := w.tab.first[p.kind]
	var current float64
	b := &w.tab.faces[now].box
	cx, cy := w.x[i]+(b.Min[0]+b.Max[0])/2, w.y[i]+(b.Min[1]+b.Max[1])/2
	reach := math.Max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]) * 0.5
	slots := 0
	for _, f := range p.may {
		face := first + f
		if p.group > 0 && face != now {
			continue
		}
		s := &w.around[slots]
		w.look(s, i, face)
		if s.x1 < s.x0-slack/10 {
			if face == now {
				current = math.Inf(1)
			}
			continue
		}
		s.x1 = max(s.x1, s.x0)
		if face == now {
			current = w.cost(s, w.x[i], w.y[i], math.Inf(1))
			keep(start{slots, w.x[i], w.y[i], current})
		}
		far0, far1 := s.x0, s.x1
		if w.tab.narrow {
			far0, far1 = max(far0, w.x[i]-4*reach), min(far1, w.x[i]+4*reach)
		}
		for range farSamples {
			x, y := far0+(far1-far0)*w.rng.Float64(), s.y0+(s.y1-s.y0)*w.rng.Float64()
			if c := w.roughCost(s, x, y, bound()); c < bound() {
				keep(start{slots, x, y, c})
			}
		}
		fb := &w.tab.faces[face].box
		ox, oy := cx-(fb.Min[0]+fb.Max[0])/2, cy-(fb.Min[1]+fb.Max[1])/2
		for range nearSamples {
			x := max(s.x0, min(s.x1, ox+reach*(2*w.rng.Float64()-1)))
			y := max(s.y0, min(s.y1, oy+reach*(2*w.rng.Float64()-1)))
			if c := w.roughCost(s, x, y, bound()); c < bound() {
				keep(start{slots, x, y, c})
			}
		}
		slots++
	}
	if kept == 0 {
		return
	}
	found := start{cost: math.Inf(1)}
	for _, c := range best[:kept] {
		c.cost = w.cost(&w.around[c.face], c.x, c.y, math.Inf(1))
		if c = w.descend(c); c.cost < found.cost {
			found = c
		}
	}
	if found.cost < current {
		w.x[i], w.y[i], w.face[i] = found.x, found.y, int32(w.around[found.face].face)
		w.remeasure(i)
	}
}

// push is how far in mm beyond a limit a place is put, so that rounding does not leave it on the wrong side.
const push = 1e-7

// descend moves from a place to places where nearby limits are just kept, one or two at a time, as long as the
// conflict decreases.
func (w *work) descend(c start) start {
	s := &w.around[c.face]
	for range 12 {
		if c.cost == 0 {
			return c
		}
		hits := w.hits[:0]
		deepest := 0.0
		for k := range s.with {
			o := &s.with[k]
			if c.x <= o.x0 || c.x >= o.x1 || c.y <= o.y0 || c.y >= o.y1 {
				continue
			}
			if d, nx, ny, ok := w.pairOf(s, o).near(c.x-o.x, c.y-o.y); ok {
				hits = append(hits, hit{d, nx, ny, o.weight})
				deepest = max(deepest, d)
			}
		}
		hits = append(hits, hit{s.x0 - c.x, 1, 0, 0}, hit{c.x - s.x1, -1, 0, 0}, hit{s.y0 - c.y, 0, 1, 0}, hit{c.y - s.y1, 0, -1, 0})
		w.hits = hits
		best := c
		try := func(dx, dy float64) {
			x, y := max(s.x0, min(s.x1, c.x+dx)), max(s.y0, min(s.y1, c.y+dy))
			if cost := w.cost(s, x, y, best.cost); cost < best.cost {
				best.x, best.y, best.cost = x, y, cost
			}
		}
		for a := range hits {
			h := &hits[a]
			if h.depth <= 0 {
				continue
			}
			d := h.depth + push
			try(h.nx*d, h.ny*d)
			for b := range hits {
				g := &hits[b]
				if b == a || g.depth > 0 && b < a || g.depth < -2*deepest {
					continue
				}
				det := h.nx*g.ny - h.ny*g.nx
				if math.Abs(det) < 0.05 {
					continue
				}
				e := g.depth + push
				dx, dy := (d*g.ny-e*h.ny)/det, (h.nx*e-g.nx*d)/det
				if dx*dx+dy*dy < 25*deepest*deepest {
					try(dx, dy)
				}
			}
		}
		if best.cost > c.cost*0.999 {
			return best
		}
		c = best
	}
	return c
}
