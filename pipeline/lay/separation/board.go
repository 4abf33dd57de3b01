package separation

import (
	"context"
	"runtime"
	"sync"
	"time"
)

// epoch is the number of moves between two meetings of a lane with the others.
const epoch = 2000

// stepLanes is the number of lanes of a search by steps, whatever the number of cores.
const stepLanes = 2

// board is shared by the lanes, to exchange their best lays. In a search by steps all lanes wait for each other and
// their lays are taken in order, so that the result is reproducible; in a search by time no lane waits.
type board struct {
	ctx      context.Context
	ps       *pieces
	table    *table
	told     func(Layout)
	busy     func() bool
	clock    func() time.Duration // since the search began
	limit    time.Duration        // 0: none
	epochs   int                  // of a search by steps: number of meetings after which it ends
	epoch    int                  // moves between two meetings
	lanes    int
	shortest float64 // lower bound of the length, or the length that is enough

	mu      sync.Mutex
	all     sync.Cond
	best    float64 // the shortest lay given to Progress
	top     *state
	waiting int
	meeting int
	brought []*state
	closed  bool
}

func newBoard(ctx context.Context, ps *pieces, o Options, clock func() time.Duration) *board {
	b := &board{ctx: ctx, ps: ps, table: newTable(ps), told: o.Progress, busy: o.Busy, clock: clock, epoch: epoch, lanes: o.Cores}
	b.all.L = &b.mu
	if b.lanes <= 0 {
		b.lanes = runtime.GOMAXPROCS(0)
	}
	if end, ok := ctx.Deadline(); ok {
		b.limit = max(time.Until(end), 1)
	}
	if o.Steps > 0 {
		b.lanes = stepLanes
		b.epoch = min(epoch, max(1, o.Steps/b.lanes))
		b.epochs = max(1, o.Steps/(b.lanes*b.epoch))
	}
	b.brought = make([]*state, b.lanes)
	b.shortest = ps.leastLength()
	return b
}

func (b *board) over() bool {
	for b.busy != nil && b.busy() && !b.ended() {
		time.Sleep(pausing)
	}
	return b.ended()
}

// pausing is the time after which a paused search asks Busy again.
const pausing = 20 * time.Millisecond

// ended reports whether the search's time is over.
func (b *board) ended() bool {
	return b.ctx.Err() != nil || b.limit > 0 && b.epochs == 0 && b.clock() >= b.limit
}

// done is the finished share of the search, 0 to 1, for a lane that has met the others so often. Without a limit it
// runs from 0 to 1 repeatedly, each time for twice as long.
func (b *board) done(meetings int) float64 {
	switch {
	case b.epochs > 0:
		return float64(meetings) / float64(b.epochs)
	case b.limit > 0:
		return float64(b.clock()) / float64(b.limit)
	}
	span := 4.0
	for t := b.clock().Seconds(); ; span *= 2 {
		if t < span {
			return t / span
		}
		t -= span
	}
}

// offer checks an arrangement with the exact test and gives it to Progress if it is the shortest.
func (b *board) offer(places []place) bool {
	lay, ok := b.ps.layout(places)
	if !ok {
		return false
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if lay.Length < b.best {
		b.best = lay.Length
		if b.told != nil {
			b.told(lay)
		}
	}
	return true
}

// meet takes a lane's best lay, gives a better one if another lane has it, and says whether to stop.
func (b *board) meet(lane int, own *state) (better *state, stop bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.brought[lane] = own.clone()
	if b.epochs == 0 {
		b.settle()
	} else if b.waiting++; b.waiting == b.lanes {
		b.settle()
		b.waiting = 0
		b.meeting++
		b.all.Broadcast()
	} else {
		for now := b.meeting; now == b.meeting; {
			b.all.Wait()
		}
	}
	if b.top.length < own.length {
		better = b.top.clone()
	}
	return better, b.closed
}

// settle picks the best of the lanes' lays, the first of equals, and decides for all of them whether to end.
func (b *board) settle() {
	for _, s := range b.brought {
		if s != nil && (b.top == nil || s.length < b.top.length) {
			b.top = s
		}
	}
	b.closed = b.top.length <= b.shortest || b.over() || b.epochs > 0 && b.meeting+1 >= b.epochs
}

// search runs the lanes from a first lay to the end and gives the best arrangement.
func (b *board) search(first Layout, places []place, seed uint64) []place {
	b.best = first.Length
	lanes := make([]*lane, b.lanes)
	var wg sync.WaitGroup
	for k := range lanes {
		w := newWork(b.ps, b.table, seed, uint64(k))
		w.load(places, first.Length)
		lanes[k] = &lane{w: w, board: b, number: k, best: &state{}}
		w.save(lanes[k].best)
		wg.Go(lanes[k].run)
	}
	wg.Wait()
	best := lanes[0]
	for _, l := range lanes[1:] {
		if l.best.length < best.best.length {
			best = l
		}
	}
	w := best.w
	w.restore(best.best)
	found := w.places()
	if w.compact(); w.reach() < best.best.length && b.offer(w.places()) {
		return w.places()
	}
	return found
}
