package control

import (
	"errors"
	"reflect"
	"testing"
	"time"

	"tracewheel/pipeline/ledger"
)

// TestReadOverTheSocket: what the daemon reads for somebody is, field for field, what the ledger says.
func TestReadOverTheSocket(t *testing.T) {
	dir, d := served(t)
	ctx := t.Context()
	for id := range int64(3) {
		if _, err := d.led.Enter(ctx, ledger.Arrival{ID: id + 1, Device: "roll-plotter", File: "skirt.svg", Text: "taken",
			Files: []ledger.File{{Job: id + 1, Name: "original.svg", Size: 3, SHA256: "abc"}}, Answers: map[string]string{"unit": "mm"}}); err != nil {
			t.Fatal(err)
		}
	}
	d.TellInbox(func() []ledger.Untaken {
		return []ledger.Untaken{{File: "lost.svg", State: ledger.NotTaken, Why: "because"}}
	})
	c, err := Dial(ctx, dir)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close() //nolint:errcheck // only asked
	same := func(what string, got, want any, errs ...error) {
		t.Helper()
		if err := errors.Join(errs...); err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %+v and not %+v: %v", what, got, want, err)
		}
	}
	f := ledger.Filter{Device: "roll-plotter", Newest: true, Limit: 2}
	want, werr := d.led.Jobs(ctx, f)
	got, err := c.Jobs(ctx, f)
	same("jobs", got, want, err, werr)
	if len(got) != 2 || got[0].ID != 3 {
		t.Errorf("jobs %+v", got)
	}
	wantJob, werr := d.led.Job(ctx, 1)
	gotJob, err := c.Job(ctx, 1)
	same("job", gotJob, wantJob, err, werr)
	wantEvents, werr := d.led.Events(ctx, 1)
	gotEvents, err := c.Events(ctx, 1)
	same("events", gotEvents, wantEvents, err, werr)
	if len(gotEvents) == 0 {
		t.Error("no events")
	}
	is, err := c.Happened(ctx, "roll-plotter", gotEvents[0].Kind, gotEvents[0].Text, time.Time{})
	same("happened", is, true, err)
	left, err := c.Untaken(ctx)
	same("untaken", left, d.untaken(), err)
	if _, err := c.Job(ctx, 9); !errors.Is(err, ledger.ErrNoJob) {
		t.Errorf("of no job: %v", err)
	}
}
