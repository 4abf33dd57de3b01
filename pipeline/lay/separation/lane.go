package separation

import (
	"cmp"
	"math"
	"slices"
)

// How a lane shortens the length: in shares of it that begin coarse and end fine.
const (
	exploreShare    = 0.001
	compressFrom    = 0.0005
	compressTo      = 0.00001
	explorePatience = 200
	exploreStrikes  = 3
	squeezePatience = 100
	squeezeStrikes  = 3
)

// lane is one search. Lanes run in parallel and meet regularly, to continue from the best lay of all.
type lane struct {
	w        *work
	board    *board
	number   int
	best     *state   // sound
	failed   []*state // by the depth of their conflict
	from     int      // moves at the last meeting
	meetings int
	stopped  bool
}

// more counts moves and meets the other lanes after every epoch; it says whether the lane continues from its own
// arrangement.
func (l *lane) more() bool {
	if l.w.moves-l.from < l.board.epoch && !l.board.over() {
		return true
	}
	l.from = l.w.moves
	l.meetings++
	var better *state
	better, l.stopped = l.board.meet(l.number, l.best)
	if better != nil {
		l.best = better
		return false
	}
	return !l.stopped
}

// reach is the length of the arrangement.
func (w *work) reach() float64 {
	var end float64
	for i := range w.n {
		end = max(end, w.x[i]+w.tab.faces[w.face[i]].box.Max[0])
	}
	return end
}

// sound keeps an arrangement without conflict, if the exact test agrees.
func (l *lane) sound() bool {
	w := l.w
	w.length = w.reach()
	if w.length >= l.best.length || !l.board.offer(w.places()) {
		return false
	}
	w.save(l.best)
	return true
}

func (l *lane) run() {
	for !l.stopped {
		if done := l.board.done(l.meetings); done < 0.8 {
			l.explore()
		} else {
			l.compress(done)
		}
	}
}

// explore repeatedly shortens the best lay by a step and repairs it; where that fails it disturbs one of the best
// failures and continues from there.
func (l *lane) explore() {
	w := l.w
	w.restore(l.best)
	target := max(l.board.shortest, l.best.length*(1-exploreShare))
	l.failed = l.failed[:0]
	w.shrink(target)
	for !l.stopped && l.board.done(l.meetings) < 0.8 {
		base := l.best
		if w.separate(explorePatience, exploreStrikes, l.more, l.board.over) {
			l.sound()
			w.restore(l.best)
			target = max(l.board.shortest, l.best.length*(1-exploreShare))
			l.failed = l.failed[:0]
			w.shrink(target)
			continue
		}
		if l.best != base { // another lane found a better lay
			return
		}
		var s state
		w.save(&s)
		at, _ := slices.BinarySearchFunc(l.failed, s.total, func(f *state, t float64) int { return cmp.Compare(f.total, t) })
		l.failed = slices.Insert(l.failed, at, s.clone())
		pick := min(int(math.Abs(w.rng.NormFloat64())*0.25*float64(len(l.failed))), len(l.failed)-1)
		w.restore(l.failed[pick])
		w.disturb()
	}
}

// compress shortens the best lay in ever finer steps, each time from the best.
func (l *lane) compress(began float64) {
	w := l.w
	for !l.stopped {
		done := l.board.done(l.meetings)
		if done < began {
			return // a new round of both phases begins
		}
		t := min(1, max(0, (done-0.8)/0.2))
		share := compressFrom * math.Pow(compressTo/compressFrom, t)
		w.restore(l.best)
		w.shrink(max(l.board.shortest, l.best.length*(1-share)))
		if w.separate(squeezePatience, squeezeStrikes, l.more, l.board.over) {
			l.sound()
		}
	}
}
