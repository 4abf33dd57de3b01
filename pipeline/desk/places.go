package desk

import (
	"context"
	"sync"
)

// places holds one for each thing that is drawn or made at a time: the program drives machines beside.
var places = make(chan struct{}, 2)

// inPlace does something heavy once one of the places is free. A context that ends before is the error. What is made
// is written to the browser afterwards, so that a slow one holds no place.
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

// once keeps what changes with the program only.
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

// made gives what was made of that name, or makes it in a place. An error is not kept.
func (o *once) made(ctx context.Context, what string, work func() ([]byte, error)) (out []byte, err error) {
	out, ok := o.kept(what)
	if ok {
		return out, nil
	}
	err = inPlace(ctx, func() error {
		if out, ok = o.kept(what); ok { // by who had the place before
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
