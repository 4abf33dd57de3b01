package control

import (
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"go.uber.org/zap"
	"go.uber.org/zap/zaptest/observer"

	"tracewheel/devices"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/places"
	"tracewheel/pipeline/store"
)

// begun brings a job to the middle of its sending.
func begun(t *testing.T, d *Jobs) int64 {
	t.Helper()
	return made(t, d, devices.Program{Language: devices.HPGL, Prelude: 1, Blocks: []devices.Block{{Bytes: []byte("IN;"), Stroke: -1, Piece: -1}}})
}

// made brings a job with a program to the middle of its sending.
func made(t *testing.T, d *Jobs, p devices.Program) int64 {
	t.Helper()
	id := d.Reserve()
	program, err := store.ProgramFiles(p)
	if err != nil {
		t.Fatal(err)
	}
	sums, err := d.st.SaveAll(id, append([]store.Named{{Name: "original.svg", Data: fmt.Append(nil, id)}}, program...))
	if err != nil {
		t.Fatal(err)
	}
	var files []ledger.File
	for _, s := range sums {
		files = append(files, ledger.File{Job: id, Name: s.Name, Size: s.Size, SHA256: s.SHA256})
	}
	a := ledger.Arrival{ID: id, Device: "roll-plotter", File: "skirt.svg", Files: files[:1]}
	if err := d.Enter(t.Context(), a); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Ready(t.Context(), id, Made{Ready: true, Pieces: 2, Files: files[1:]}); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Begin(t.Context(), id, 9, 100); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(d.Shut)
	return id
}

// TestCutShortTellsWhatIsKnown: a daemon that is simply left in the middle, as by a kill, and another
// that finds what it wrote.
func TestCutShortTellsWhatIsKnown(t *testing.T) {
	d := served(t)
	clock := time.Now()
	d.now = func() time.Time { clock = clock.Add(2 * time.Second); return clock }
	silent, known, canceled := begun(t, d), begun(t, d), begun(t, d)
	d.Progress(Progress{Job: known, Bytes: 30, Sure: 2, SureBlock: 3, Stroke: 4})
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
		{silent, ledger.Stopped, []string{"how much was made is unknown"}},
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
	d := served(t)
	id := begun(t, d)
	for n := range 5 {
		d.Progress(Progress{Job: id, Bytes: int64(10 * (n + 1)), Sure: n, SureBlock: n + 1})
	}
	for end := time.Now().Add(time.Minute); ; time.Sleep(time.Millisecond) {
		if j := d.state(t, id); j.Send.Bytes == 50 && j.Send.Stroke == 4 {
			return
		} else if time.Now().After(end) {
			t.Fatalf("written is %+v", j.Send)
		}
	}
}

// TestPauseIsWrittenLater: a pause that met a ledger which could not be written is written once it can be,
// and the job then goes on.
func TestPauseIsWrittenLater(t *testing.T) {
	d := served(t)
	core, logs := observer.New(zap.WarnLevel)
	d.log = zap.New(core)
	id := begun(t, d)
	db, err := sql.Open("sqlite", d.st.LedgerPath()+"?_txlock=immediate")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close() //nolint:errcheck // only held
	hang, err := db.Begin()
	if err != nil {
		t.Fatal(err)
	}
	d.Progress(Progress{Job: id, Bytes: 10, Waiting: "paused by a person", Person: true, Stroke: -1, Piece: -1, Sure: -1, SureBlock: -1})
	until := func(what string, is func() bool) {
		t.Helper()
		for end := time.Now().Add(time.Minute); !is(); time.Sleep(time.Millisecond) {
			if time.Now().After(end) {
				t.Fatal("never ", what)
			}
		}
	}
	until("the ledger fails", func() bool { return logs.FilterMessage("progress could not be written down").Len() > 0 })
	if err := hang.Rollback(); err != nil {
		t.Fatal(err)
	}
	until("it is written", func() bool { return d.state(t, id).State == ledger.Stopped })
	if err := d.Resume(t.Context(), id, "", ""); err != nil {
		t.Error(err)
	}
}

// TestRunningIsNotPaused: who wants a running job to go on from elsewhere is never told that it is paused,
// while it still moves; of a paused one that is said.
func TestRunningIsNotPaused(t *testing.T) {
	d := served(t)
	id := begun(t, d)
	asked := func(want string) {
		t.Helper()
		if err := d.Resume(t.Context(), id, "piece", NotShifted); err == nil || !IsRefusal(err) || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, not %q", err, want)
		}
	}
	asked("job 1 is running")
	d.Progress(Progress{Job: id, Bytes: 10, Waiting: "paused by a person", Person: true, Stroke: -1, Piece: -1, Sure: -1, SureBlock: -1})
	asked("job 1 is paused and goes on where it stands")
}

// TestPausingIsTold: from a person's pause until the device stands the job is pausing, and not once it stands or goes on.
func TestPausingIsTold(t *testing.T) {
	d := served(t)
	id := begun(t, d)
	pausing := func(when string, want bool) {
		t.Helper()
		if now, is := d.NowOf(id); !is || now.Pausing != want {
			t.Errorf("%s: pausing %v, %+v", when, now.Pausing, now)
		}
	}
	moment := func(waiting string, person bool) {
		d.Progress(Progress{Job: id, Bytes: 10, Waiting: waiting, Person: person, Stroke: -1, Piece: -1, Sure: -1, SureBlock: -1})
	}
	moment("", false)
	pausing("running", false)
	if err := d.Pause(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	pausing("asked for", true)
	moment("the machine to confirm that it stands and the blade is lifted", false)
	pausing("not confirmed yet", true)
	moment("paused", true)
	pausing("it stands", false)
	for end := time.Now().Add(time.Minute); d.state(t, id).State != ledger.Stopped && time.Now().Before(end); time.Sleep(time.Millisecond) {
	}
	if err := d.Resume(t.Context(), id, "", ""); err != nil {
		t.Fatal(err)
	}
	pausing("let go on", false)
	moment("", false)
	pausing("it goes on", false)
}

// TestFarOfARun: while a job is sent the strokes that went out are told and never fewer than before, by the list of pieces
// too; after a kill nothing is called not begun.
func TestFarOfARun(t *testing.T) {
	d := served(t)
	var p devices.Program
	p.Language, p.Pieces, p.Prelude = devices.HPGL, 3, 1
	p.Blocks = []devices.Block{{Bytes: []byte("IN;"), Stroke: -1, Piece: -1}}
	for i := range 3 {
		p.Blocks = append(p.Blocks, devices.Block{Bytes: []byte("PD1,1;PU;"), Stroke: i, Piece: i, EndsStroke: true})
	}
	id := made(t, d, p)
	list := func(when, want string) {
		t.Helper()
		pieces, err := d.Pieces(t.Context(), id)
		got := ""
		for _, m := range pieces {
			got += m.Made + ", "
		}
		if got != want+", " || err != nil {
			t.Errorf("%s: %s %v, not %s", when, got, err, want)
		}
	}
	list("begun", "not begun, not begun, not begun")
	d.Progress(Progress{Job: id, Bytes: 12, Total: 30, Stroke: 1, Piece: 1, Sure: 0, SureBlock: 1})
	list("in the second", "done, not known, not begun")
	d.Progress(Progress{Job: id, Bytes: 12, Total: 30, Stroke: -1, Piece: -1, Sure: -1, SureBlock: -1, Waiting: "paused", Person: true})
	list("paused", "done, not known, not begun")
	if now, _ := d.NowOf(id); now.Sent != 1 || now.Sure != 0 {
		t.Errorf("sent to stroke %d, sure to %d", now.Sent, now.Sure)
	}
	d.Progress(Progress{Job: id, Bytes: 30, Total: 30, Stroke: -1, Piece: -1, Sure: 0, SureBlock: 1})
	list("all sent", "done, not known, not known")
	d.mu.Lock()
	l := d.live[id]
	d.mu.Unlock()
	l.rest()
	d.mu.Lock() // as a kill leaves it
	delete(d.live, id)
	d.mu.Unlock()
	if _, err := d.CutShort(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	if pieces, err := d.Pieces(t.Context(), id); err != nil || slices.ContainsFunc(pieces, func(m places.Piece) bool { return m.Made == places.NotBegun }) {
		t.Errorf("after a kill: %+v, %v", pieces, err)
	}
}

// TestNothingWasSent: a job whose port was not there is not said to be drawn in part, and goes on from the
// start without being asked from where.
func TestNothingWasSent(t *testing.T) {
	d := served(t)
	d.Serve([]Device{{Name: "roll-plotter"}})
	id := begun(t, d)
	if _, err := d.Close(t.Context(), id, End{State: ledger.Stopped, Reason: "no such port", Sure: -1, Stroke: -1}); err != nil {
		t.Fatal(err)
	}
	points, err := d.Points(t.Context(), id)
	if err != nil || len(points) != 1 || points[0].Text != "everything from the start; nothing was sent yet" {
		t.Errorf("%+v, %v", points, err)
	}
	if err := d.Resume(t.Context(), id, "", ""); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Close(t.Context(), id, End{State: ledger.Stopped, Reason: "unplugged", Bytes: 3, Sure: -1, Stroke: -1}); err != nil {
		t.Fatal(err)
	}
	if err := d.Resume(t.Context(), id, "", ""); !IsRefusal(err) || strings.Contains(err.Error(), "nothing was sent") {
		t.Errorf("after some bytes: %v", err)
	}
}

// TestUnsentRunKeepsWhatWasKnown: a resume that ends before its first byte, as where the port is not there,
// leaves the job with all that the run before it knew; a run of which that is not sure does not.
func TestUnsentRunKeepsWhatWasKnown(t *testing.T) {
	for _, unsent := range []bool{true, false} {
		d := served(t)
		d.Serve([]Device{{Name: "roll-plotter"}})
		id := made(t, d, program("p p a0 a1 b2 b3 c4"))
		held := &ledger.Place{Stroke: 3}
		known, err := d.Close(t.Context(), id, End{State: ledger.Stopped, Reason: "unplugged", Bytes: 60, Sure: 4, Stroke: 2, Held: held, ToolUp: true})
		if err != nil {
			t.Fatal(err)
		}
		for _, from := range []string{places.FromPiece(2), "start"} {
			if err := d.Resume(t.Context(), id, from, NotShifted); err != nil {
				t.Fatal(err)
			}
			if _, err := d.Close(t.Context(), id, End{State: ledger.Stopped, Reason: "no such port", Sure: -1, Stroke: -1, Unsent: unsent}); err != nil {
				t.Fatal(err)
			}
		}
		s := d.state(t, id).Send
		if unsent && (s.First != 0 || s.Bytes != 60 || s.Sure != 4 || s.Stroke != 2 || s.Tool != "up" || s.Held == nil || s.Held.Stroke != 3) {
			t.Errorf("known was %+v, now %+v", known.Send, s)
		}
		if !unsent && (s.Bytes != 0 || s.Sure != -1 || s.Held != nil || s.Tool != ledger.Unknown) {
			t.Errorf("after a run of which nobody knows: %+v", s)
		}
	}
}

// TestStoppedInAPauseDidNotGoOn: a paused job whose sender waits for its device to stop is not said in its
// history to have gone on.
func TestStoppedInAPauseDidNotGoOn(t *testing.T) {
	d := served(t)
	id := begun(t, d)
	tells := func(waiting string, person bool, state ledger.State) {
		t.Helper()
		d.Progress(Progress{Job: id, Waiting: waiting, Person: person, Stroke: -1, Piece: -1, Sure: -1, SureBlock: -1})
		for end := time.Now().Add(time.Minute); d.state(t, id).State != state; time.Sleep(time.Millisecond) {
			if time.Now().After(end) {
				t.Fatal("it never is ", state)
			}
		}
	}
	tells("paused by a person", true, ledger.Stopped)
	tells("the device to confirm that it has stopped and its tool is up", false, ledger.Processing)
	events, err := d.Events(t.Context(), id)
	if last := events[len(events)-1]; err != nil || last.Kind != "waits" || !strings.HasPrefix(last.Text, "the device to confirm") {
		t.Errorf("%v: %+v", err, last)
	}
}
