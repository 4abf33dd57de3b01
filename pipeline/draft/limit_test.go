package draft

import (
	"strings"
	"testing"
	"time"

	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/pattern"
)

// TestTimeLimit: a reader that does not come back is given up with words; one that does is waited
// for, and its panic is the caller's.
func TestTimeLimit(t *testing.T) {
	stuck := make(chan struct{})
	defer close(stuck)
	_, err := within(time.Millisecond, nil, "a/slow.dxf", func(<-chan struct{}) (*pattern.Pattern, error) { <-stuck; return nil, nil })
	if err == nil || !strings.Contains(err.Error(), `"slow.dxf" takes longer than 1ms to read`) {
		t.Errorf("%v", err)
	}
	want := &pattern.Pattern{Style: "x"}
	if p, err := within(timeLimit, nil, "x", func(<-chan struct{}) (*pattern.Pattern, error) { return want, nil }); p != want || err != nil {
		t.Error(p, err)
	}
	defer func() {
		if recover() != "broken" {
			t.Error("the panic was swallowed")
		}
	}()
	_, _ = within(timeLimit, nil, "x", func(<-chan struct{}) (*pattern.Pattern, error) { panic("broken") })
}

// TestFiguresTimeLimit: figures are given up on as a reading is; a card that never comes is the draft's fault.
func TestFiguresTimeLimit(t *testing.T) {
	stuck := make(chan struct{})
	defer close(stuck)
	opt := Options{Limit: time.Millisecond, Body: "x", Card: func(string) ([]byte, error) { <-stuck; return nil, nil }}
	for _, of := range []func([]byte, string, Options) (*figures.Figures, error){FiguresOf, BriefOf} {
		_, err := of([]byte("style: S\nunit: cm\npieces:\n  a: rectangle 8 by 15; cut 1\nallow: 1\n"), "slow.yaml", opt)
		if err == nil || !strings.Contains(err.Error(), "takes longer than 1ms") {
			t.Errorf("%v", err)
		}
	}
}

// TestNobodyWaits: a reader for which nobody waits any more is given up at once and told to stop.
func TestNobodyWaits(t *testing.T) {
	gone, stopped := make(chan struct{}), make(chan struct{})
	_, err := within(timeLimit, gone, "a/slow.yaml", func(stop <-chan struct{}) (*pattern.Pattern, error) {
		close(gone)
		<-stop
		close(stopped)
		return nil, nil
	})
	if err == nil || !strings.Contains(err.Error(), "nobody waits") {
		t.Errorf("%v", err)
	}
	<-stopped
	_, err = within(timeLimit, gone, "a/slow.yaml", func(<-chan struct{}) (*pattern.Pattern, error) {
		t.Error("it is read although nobody waited from the beginning")
		return nil, nil
	})
	if err == nil || !strings.Contains(err.Error(), "nobody waits") {
		t.Errorf("from the beginning: %v", err)
	}
}
