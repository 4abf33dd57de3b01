package jobpicture

import (
	"context"
	"sync"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/places"
)

// Far is how far a job came. Nothing is told of a job that was never sent, nor of one that is done, printed or runs with the
// tool up.
func (p *Pictures) Far(ctx context.Context, j ledger.Job) (f places.Far, told bool) {
	if !j.Ready || j.Sends == 0 || j.State == ledger.Completed || j.Trial() != "" || p.Kind(j.Device).Prints() {
		return f, false
	}
	if now, is := p.Jobs.NowOf(j.ID); is {
		return now.Far(), true
	}
	prog, err := p.Jobs.Program(ctx, j.ID)
	if err == nil {
		f, err = p.Jobs.Far(ctx, j, prog)
	}
	return f, err == nil
}

// spansKept keeps where the pieces of the jobs begin and end that were looked at last: many pages ask at every moment, and
// the whole program is read once. It does not change once a job was sent.
type spansKept struct {
	mu sync.Mutex
	of map[int64]places.Spans
}

// Rows says how far the pieces of a job came that came so far, as words and the pieces' numbers and names; nil where that is
// not known.
func (p *Pictures) Rows(ctx context.Context, id int64, f places.Far) [][2]string {
	k := &p.spans
	k.mu.Lock()
	defer k.mu.Unlock()
	spans, is := k.of[id]
	if !is {
		prog, err := p.Jobs.Program(ctx, id)
		if err != nil {
			return nil
		}
		if spans = places.SpansOf(prog); len(spans) < 2 {
			spans = nil // there is nothing to tell them from
		}
		if k.of == nil || len(k.of) >= shownKept {
			k.of = map[int64]places.Spans{}
		}
		k.of[id] = spans
	}
	return places.Rows(spans.Pieces(f))
}
