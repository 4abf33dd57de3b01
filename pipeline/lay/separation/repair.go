package separation

import "slices"

// state is a saved arrangement.
type state struct {
	x, y   []float64
	face   []int32
	total  float64
	length float64
}

func (w *work) save(s *state) {
	s.x, s.y, s.face = append(s.x[:0], w.x...), append(s.y[:0], w.y...), append(s.face[:0], w.face...)
	s.total, s.length = w.total, w.length
}

func (w *work) restore(s *state) {
	copy(w.x, s.x)
	copy(w.y, s.y)
	copy(w.face, s.face)
	w.length = s.length
	w.measure()
}

func (s *state) clone() *state {
	c := *s
	c.x, c.y, c.face = slices.Clone(s.x), slices.Clone(s.y), slices.Clone(s.face)
	return &c
}

// separate moves pieces until none overlap, and reports that, or until in strikes runs of patience rounds the conflict
// has not clearly decreased; then the best arrangement is restored. It calls more before each round to continue, and
// over before each move to end with the search.
func (w *work) separate(patience, strikes int, more, over func() bool) bool {
	w.calm()
	w.moves++
	if !more() {
		return false
	}
	var best state
	w.save(&best)
	for strike := 0; strike < strikes; {
		began := best.total
		for idle := 0; idle < patience; {
			if w.total < 1e-9 {
				w.measure() // rounding accumulates in the sums
				if w.total == 0 {
					return true
				}
			}
			if !more() {
				return false
			}
			for _, i := range w.inConflict() {
				if over() {
					break
				}
				if slices.Max(w.depth[i*w.all:(i+1)*w.all]) > 0 {
					w.move(i)
				}
			}
			w.reweigh()
			if w.total < best.total {
				if w.total < 0.98*best.total {
					idle = 0
				}
				w.save(&best)
			} else {
				idle++
			}
		}
		if best.total < 0.98*began {
			strike = 0
		} else {
			strike++
		}
		w.restore(&best)
	}
	return w.total == 0
}
