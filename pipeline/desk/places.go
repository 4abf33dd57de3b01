package desk

import (
	"context"
	"sync"
)

// places is a semaphore for drawing and making, so that the program keeps driving machines.
var places = make(chan struct{}, 2)

// inPlace runs work once a place is free. The error is that of a context that ends before. The result is written to
// the browser afterwards, so that a slow browser holds no place.
func inPlace(ctx context.Context, do func() error) error {
	select {
	case places <- struct{}{}:
		defer func() { <-places }()
	case <-ctx.Done():
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return do()
}

// once caches what depends on the program only.
type once struct {
	mu  sync.Mutex
	all map[string][]byte
}

func (o *once) kept(what string) ([]byte, bool) {
	o.mu.Lock()
	defer o.mu.Unlock()
	out, ok := o.all[what]
	return out, ok
}

// made gives the cached result of a name, or makes it in a place. An error is not cached.
func (o *once) made(ctx context.Context, what string, work func() ([]byte, error)) (out []byte, err error) {
	out, ok := o.kept(what)
	if ok {
		return out, nil
	}
	err = inPlace(ctx, func() error {
		if out, ok = o.kept(what); ok { // made by the holder of the place before
			return nil
		}
		if out, err = work(); err != nil {
			return err
		}
		o.mu.Lock()
		defer o.mu.Unlock()
		if o.all == nil {
			o.all = map[string][]byte{}
		}
		o.all[what] = out
		return nil
	})
	return out, err
}
