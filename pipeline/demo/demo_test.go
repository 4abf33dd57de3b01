package demo

import (
	"context"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tracewheel/pipeline/ledger"
)

// The demo lets its cutter's job go by itself, and the history says so.
func TestDemoDoesNotSayThatAPersonReleased(t *testing.T) {
	ctx, cancel := context.WithTimeout(t.Context(), 4*time.Minute)
	defer cancel()
	d, err := New(ctx, filepath.Join(t.TempDir(), "demo"), &strings.Builder{})
	if err != nil {
		t.Skipf("no demo here: %v", err)
	}
	defer d.Stop() //nolint:errcheck // all was seen
	if err := d.Drop(); err != nil {
		t.Fatal(err)
	}
	if err := d.Watch(ctx, true); err != nil {
		t.Fatal(err)
	}
	jobs, err := d.shop.Jobs().Jobs(ctx, ledger.Filter{Device: demoCutter})
	if err != nil || len(jobs) == 0 {
		t.Fatalf("%d jobs, %v", len(jobs), err)
	}
	for _, j := range jobs {
		events, err := d.shop.Jobs().Events(ctx, j.ID)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range events {
			if e.Kind == "release" && (strings.Contains(e.Text, "person") || !strings.Contains(e.Text, "demo")) {
				t.Errorf("job %d: %q", j.ID, e.Text)
			}
		}
	}
}
