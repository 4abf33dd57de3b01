package draft

import (
	"fmt"
	"path/filepath"
	"time"
)

// timeLimit is how long reading one draft may take. The largest drafts of a workroom take a tenth of
// a second; the readers' own limits on size and number let nothing take much longer than this.
const timeLimit = 30 * time.Second

// within gives up on a reader that takes too long. What is left of its work ends by the reader's own
// limits, and its result is dropped.
func within[T any](limit time.Duration, name string, read func() (*T, error)) (*T, error) {
	type result struct {
		p     *T
		err   error
		panic any
	}
	done := make(chan result, 1)
	go func() {
		var r result
		defer func() {
			r.panic = recover() // told where the caller can see it
			done <- r
		}()
		r.p, r.err = read()
	}()
	timer := time.NewTimer(limit)
	defer timer.Stop()
	select {
	case r := <-done:
		if r.panic != nil {
			panic(r.panic)
		}
		return r.p, r.err
	case <-timer.C:
		return nil, &Error{Fault{
			Message: fmt.Sprintf("%q takes longer than %s to read", filepath.Base(name), limit),
			Mend:    "leave in the draft only what its pieces need",
		}}
	}
}
