package lays

import (
	"sync/atomic"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/making"
)

// TestPausedBeside: while a device is sent to the search pauses, and a first lay is shown and not cached; the lay of a
// later search takes no more, and is cached.
func TestPausedBeside(t *testing.T) {
	var sends atomic.Bool
	sends.Store(true)
	k := Kept{Busy: sends.Load}
	m, r := making.New(making.Sample()), making.Request{Name: "trousers.yaml", Source: samples.Read("trousers.yaml")}
	first, err := k.Of(t.Context(), m, r)
	if err != nil || k.Len() != 0 {
		t.Fatalf("%v, %d kept", err, k.Len())
	}
	sends.Store(false)
	whole, err := k.Of(t.Context(), m, r)
	if err != nil || k.Len() != 1 {
		t.Fatalf("%v, %d kept", err, k.Len())
	}
	if a, b := first.Cloths[0].Lay.LengthUsed, whole.Cloths[0].Lay.LengthUsed; b > a {
		t.Errorf("%v mm paused, %v sought", a, b)
	}
}
