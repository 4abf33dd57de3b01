package store

import (
	"context"
	"path/filepath"
	"sync"
	"testing"
	"time"
)

// TestAlone: callers come one after the other, and one who cannot wait is told so.
func TestAlone(t *testing.T) {
	path := filepath.Join(t.TempDir(), "lock")
	var all sync.WaitGroup
	inside, most, runs := 0, 0, 0
	for range 20 {
		all.Go(func() {
			err := Alone(t.Context(), path, func() error {
				inside++
				most, runs = max(most, inside), runs+1
				time.Sleep(time.Millisecond)
				inside--
				return nil
			})
			if err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	if most != 1 || runs != 20 {
		t.Errorf("%d at once, %d in all", most, runs)
	}
	err := Alone(t.Context(), path, func() error {
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		return Alone(ctx, path, func() error { return nil })
	})
	if err == nil {
		t.Error("two at once")
	}
}
