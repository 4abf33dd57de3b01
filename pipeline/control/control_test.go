package control

import (
	"testing"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"

	"go.uber.org/goleak"
	"go.uber.org/zap"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

func served(t *testing.T) *Jobs {
	t.Helper()
	st, err := store.Open(t.TempDir(), store.Disk{})
	if err != nil {
		t.Fatal(err)
	}
	led, err := ledger.Open(t.Context(), st.LedgerPath(), nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		for _, c := range []func() error{led.Close, st.Close} {
			if err := c(); err != nil {
				t.Error(err)
			}
		}
	})
	return New(led, st, zap.NewNop(), nil)
}

// TestSlowWatcherHoldsNobody: one who does not read loses moments and nothing else.
func TestSlowWatcherHoldsNobody(t *testing.T) {
	d := served(t)
	moments, stop := d.Subscribe()
	defer stop()
	for i := range 1000 {
		d.publish(Progress{Job: int64(i)})
	}
	last := int64(-1)
	for n := len(moments); n > 0; n-- {
		p := <-moments
		if p.Job <= last {
			t.Errorf("%d after %d", p.Job, last)
		}
		last = p.Job
	}
	if last != 999 {
		t.Errorf("the last moment seen is %d", last)
	}
}
