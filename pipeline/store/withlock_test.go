package store

import (
	"context"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// TestAlone: callers come one after the other, and one who cannot wait is told so.
func TestAlone(t *testing.T) {
	path := filepath.Join(t.TempDir(), "lock")
	var all sync.WaitGroup
	var inside, crowded, runs atomic.Int32
	for range 20 {
		all.Go(func() {
			err := WithLock(t.Context(), path, func() error {
				if inside.Add(1) > 1 {
					crowded.Add(1)
				}
				runs.Add(1)
				time.Sleep(time.Millisecond)
				inside.Add(-1)
				return nil
			})
			if err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	if crowded.Load() > 0 || runs.Load() != 20 {
		t.Errorf("%d came while another was there, %d in all", crowded.Load(), runs.Load())
	}
	err := WithLock(t.Context(), path, func() error {
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		return WithLock(ctx, path, func() error { return nil })
	})
	if err == nil {
		t.Error("two at once")
	}
}
