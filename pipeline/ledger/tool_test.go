package ledger

import (
	"strings"
	"testing"
)

// TestMetresOutliveTheirJobs: what a run drew is counted once, however often its end is written, for its device alone, and
// stays when its job is removed.
func TestMetresOutliveTheirJobs(t *testing.T) {
	l := openTest(t)
	j := arrive(t, l, strings.Repeat("ab", 32))
	for range 2 {
		_, err := l.Change(t.Context(), j.ID, func(*Job) (Step, error) {
			return Step{Kind: "done", Send: &Send{No: 1, End: "done"}, DrawnMM: 1234.6}, nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	told := func() {
		t.Helper()
		is, err := l.Tool(t.Context(), j.Device)
		if err != nil || is.MM != 1235 || is.Since.IsZero() || !strings.Contains(is.Said(true, "mm"), "its blade has cut 1.2 m since") ||
			!strings.Contains(is.Said(true, "in"), "its blade has cut 1.4 yd since") { // 1235 mm are 1.35 yd of 914.4 mm
			t.Errorf("%+v, %q, %v", is, is.Said(true, "mm"), err)
		}
	}
	told()
	if err := move(l, j.ID, Canceled); err != nil {
		t.Fatal(err)
	}
	_, err := l.Change(t.Context(), j.ID, func(j *Job) (Step, error) {
		j.Pruning = true
		return Step{}, nil
	})
	if err == nil {
		err = l.Forget(t.Context(), j.ID)
	}
	if err != nil {
		t.Fatal(err)
	}
	told()
	if is, err := l.Tool(t.Context(), "another"); err != nil || is.MM != 0 {
		t.Errorf("of another device: %+v, %v", is, err)
	}
}
