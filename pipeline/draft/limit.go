package draft

import (
	"fmt"
	"path/filepath"
	"time"
)

// timeLimit is how long reading one draft may take. The largest drafts of a workroom take a tenth of
// a second; the readers' own limits on size and number let nothing take much longer than this.
const timeLimit = 30 * time.Second

// within gives up on a reader that takes too long, or for which nobody waits since done is closed. It closes stop then; the
// work of a reader that does not heed it ends by its own limits. Its result is dropped.
func within[T any](limit time.Duration, done <-chan struct{}, name string, read func(stop <-chan struct{}) (*T, error)) (*T, error) {
	gone := &Error{Fault{Message: fmt.Sprintf("%q was not read to its end, since nobody waits for it", filepath.Base(name)), Mend: "ask for it again"}}
	select {
	case <-done: // before it began: a short draft may else be read by now
		return nil, gone
	default:
	}
	stop := make(chan struct{})
	defer close(stop)
	type result struct {
		p     *T
		err   error
		panic any
	}
	came := make(chan result, 1)
	go func() {
		var r result
		defer func() {
			r.panic = recover() // told where the caller can see it
			came <- r
		}()
		r.p, r.err = read(stop)
	}()
	timer := time.NewTimer(limit)
	defer timer.Stop()
	select {
	case r := <-came:
		if r.panic != nil {
			panic(r.panic)
		}
		return r.p, r.err
	case <-done:
		return nil, gone
	case <-timer.C:
		return nil, &Error{Fault{
			Message: fmt.Sprintf("%q takes longer than %s to read", filepath.Base(name), limit),
			Mend:    "leave in the draft only what its pieces need",
		}}
	}
}
