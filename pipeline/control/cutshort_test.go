package control

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"tracewheel/pipeline/ledger"
)

// begun brings a job to the middle of its sending.
func begun(t *testing.T, d *Desk) int64 {
	t.Helper()
	id := d.Reserve()
	a := ledger.Arrival{ID: id, Device: "roll-plotter", File: "skirt.svg", Files: []ledger.File{{Name: "original.svg", SHA256: fmt.Sprint(id)}}}
	if err := d.Enter(t.Context(), a); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Ready(t.Context(), id, Made{Ready: true, Pieces: 2}); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Begin(t.Context(), id, 9, 100); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(d.Shut)
	return id
}

// TestCutShortTellsWhatIsKnown: a desk that is simply left in the middle, as by a kill, and another
// that finds what it wrote.
func TestCutShortTellsWhatIsKnown(t *testing.T) {
	_, d := served(t)
	clock := time.Now()
	d.now = func() time.Time { clock = clock.Add(2 * time.Second); return clock }
	silent, known, canceled := begun(t, d), begun(t, d), begun(t, d)
	d.Moment(Progress{Job: known, Bytes: 30, Sure: 2, SureBlock: 3, Stroke: 4})
	if err := d.Cancel(t.Context(), canceled); err != nil {
		t.Fatal(err)
	}
	for end := time.Now().Add(10 * time.Second); ; time.Sleep(time.Millisecond) {
		if j, err := d.Job(t.Context(), known); err != nil || time.Now().After(end) {
			t.Fatalf("progress was never written: %+v, %v", j, err)
		} else if j.Send.Bytes == 30 {
			break
		}
	}
	again := New(d.led, d.st, d.log, nil)
	for _, c := range []struct {
		id    int64
		state ledger.State
		words []string
	}{
		{silent, ledger.Stopped, []string{"how much was drawn is unknown"}},
		{known, ledger.Stopped, []string{"at least 30 of 100 bytes", "last sure stroke is number 3", "whether the tool is up is unknown"}},
		{canceled, ledger.Canceled, []string{"canceled by a person"}},
	} {
		j, err := again.CutShort(t.Context(), c.id)
		if err != nil || j.State != c.state || j.Send.Tool != ledger.Unknown || j.Send.End != "cut short" {
			t.Errorf("job %d is %+v, %v", c.id, j, err)
		}
		for _, words := range c.words {
			if !strings.Contains(j.Reason, words) {
				t.Errorf("job %d does not say %q: %q", c.id, words, j.Reason)
			}
		}
		if _, err := again.Begin(t.Context(), c.id, 9, 100); !errors.Is(err, ledger.ErrState) {
			t.Errorf("job %d would be sent again: %v", c.id, err)
		}
	}
}

// TestLastMomentIsWritten: what a sender told last is written down although nothing more comes, as from a
// device that stalls.
func TestLastMomentIsWritten(t *testing.T) {
	_, d := served(t)
	id := begun(t, d)
	for n := range 5 {
		d.Moment(Progress{Job: id, Bytes: int64(10 * (n + 1)), Sure: n, SureBlock: n + 1})
	}
	for end := time.Now().Add(time.Minute); ; time.Sleep(time.Millisecond) {
		if j := d.state(t, id); j.Send.Bytes == 50 && j.Send.Stroke == 4 {
			return
		} else if time.Now().After(end) {
			t.Fatalf("written is %+v", j.Send)
		}
	}
}
