package draft

import (
	"strings"
	"testing"
	"time"

	"tracewheel/pipeline/pattern"
)

// TestTimeLimit: a reader that does not come back is given up with words; one that does is waited
// for, and its panic is the caller's.
func TestTimeLimit(t *testing.T) {
	stuck := make(chan struct{})
	defer close(stuck)
	_, err := within(time.Millisecond, "a/slow.dxf", func() (*pattern.Pattern, error) { <-stuck; return nil, nil })
	if err == nil || !strings.Contains(err.Error(), `"slow.dxf" takes longer than 1ms to read`) {
		t.Errorf("%v", err)
	}
	want := &pattern.Pattern{Style: "x"}
	if p, err := within(timeLimit, "x", func() (*pattern.Pattern, error) { return want, nil }); p != want || err != nil {
		t.Error(p, err)
	}
	defer func() {
		if recover() != "broken" {
			t.Error("the panic was swallowed")
		}
	}()
	_, _ = within(timeLimit, "x", func() (*pattern.Pattern, error) { panic("broken") })
}
