package laid

import (
	"context"
	"sync"

	"tracewheel/config"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/making"
)

// Numbers are the figures of a job's measured drafts, each body's apart, in the order in which its ticket names them; none
// of drawings, and of what cannot be read.
func (c *Cloths) Numbers(ctx context.Context, key string, read func() (job.Draft, error)) ([]*figures.Figures, error) {
	return kept(ctx, c, &c.numbers, "numbers "+key, func(room *config.Workroom) ([]*figures.Figures, error) {
		in, err := read()
		if err != nil {
			return nil, err
		}
		m := making.New(room)
		m.Done = ctx.Done()
		var mu sync.Mutex
		var all []*figures.Figures
		done := false
		m.Figured = func(f *figures.Figures) { // of a reading that was given up it may come late
			mu.Lock()
			defer mu.Unlock()
			if !done {
				all = append(all, f)
			}
		}
		in.Device = ""
		m.Look(in)
		mu.Lock()
		defer mu.Unlock()
		done = true
		return all, nil
	})
}
