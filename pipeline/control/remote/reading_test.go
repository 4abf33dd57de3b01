package remote

import (
	"database/sql"
	"errors"
	"reflect"
	"testing"
	"time"

	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
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
	same("untaken", left, d.Untaken(), err)
	if _, err := c.Job(ctx, 9); !errors.Is(err, ledger.ErrNoJob) {
		t.Errorf("of no job: %v", err)
	}
}

// TestPagesOverTheSocket: a long list comes in pages of a bounded size, and is the ledger's all the same,
// in either order, with a row that cannot be read at the end of a page.
func TestPagesOverTheSocket(t *testing.T) {
	dir, d := served(t)
	ctx := t.Context()
	var all []ledger.Arrival
	for id := range int64(2*page + 3) {
		all = append(all, ledger.Arrival{ID: id + 1, Device: "roll-plotter", File: "skirt.svg", Text: "taken",
			Files: []ledger.File{{Job: id + 1, Name: "original.svg", Size: 3, SHA256: "abc"}}})
	}
	if err := d.Enter(ctx, all...); err != nil {
		t.Fatal(err)
	}
	db, err := sql.Open("sqlite", store.LedgerPath(dir))
	if err != nil {
		t.Fatal(err)
	}
	_, err = db.Exec("UPDATE jobs SET state = 'canceled', ended = received, answers = 'no JSON' WHERE id IN (?, ?)", page, page+4)
	if err := errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
	c, err := Dial(ctx, dir)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close() //nolint:errcheck // only asked
	for _, f := range []ledger.Filter{{}, {Newest: true}, {Faulty: true}, {Newest: true, Faulty: true}, {Limit: page + 2}, {Limit: page, Newest: true},
		{Device: "roll-plotter", Above: 7, Below: 2 * page}, {Device: "knife-table"}, {Limit: 5*page + 1, Faulty: true}} {
		want, werr := d.led.Jobs(ctx, f)
		got, err := c.Jobs(ctx, f)
		if err := errors.Join(err, werr); err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%+v: %d jobs and not %d: %v", f, len(got), len(want), err)
		}
	}
	a, err := c.ask(ctx, request{Do: doJobs})
	if err != nil || len(a.read().Jobs) != page || !a.read().More {
		t.Errorf("one answer holds %d jobs, more: %v; %v", len(a.read().Jobs), a.read().More, err)
	}
}
