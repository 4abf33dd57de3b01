package control

import (
	"context"
	"errors"
	"testing"
	"time"

	"tracewheel/pipeline/ledger"
)

// heard counts what a sender is told.
type heard struct{ pauses, resumes, cancels int }

func (h *heard) Pause()      { h.pauses++ }
func (h *heard) Resume()     { h.resumes++ }
func (h *heard) Cancel()     { h.cancels++ }
func (h *heard) FreshSheet() {}
func (h *heard) Sheet(bool)  {}

// TestWishAsSendingBegins lets a wish come while a sending begins: the wish finds no sending, the sending
// opens, the wish goes on. The machine must hear of it.
func TestWishAsSendingBegins(t *testing.T) {
	for name, c := range map[string]struct {
		wish func(*Jobs, context.Context, int64) error
		told func(*heard) int
	}{
		"cancel": {(*Jobs).Cancel, func(h *heard) int { return h.cancels }},
		"pause":  {(*Jobs).Pause, func(h *heard) int { return h.pauses }},
	} {
		t.Run(name, func(t *testing.T) {
			d := served(t)
			t.Cleanup(d.Shut)
			id := waiting(t, d, "roll-plotter")
			began, wished := make(chan error, 1), make(chan error, 1)
			d.wishes.Lock() // Begin waits for it first, then the wish
			go func() {
				_, err := d.Begin(t.Context(), id, 9, 100)
				began <- err
			}()
			time.Sleep(50 * time.Millisecond)
			go func() { wished <- c.wish(d, t.Context(), id) }()
			time.Sleep(50 * time.Millisecond)
			d.wishes.Unlock()
			begin, wish := <-began, <-wished
			var h heard
			d.Attach(id, &h)
			switch {
			case begin == nil && wish == nil && c.told(&h) == 0:
				t.Errorf("%s was answered with success and the machine was not told", name)
			case begin == nil && wish != nil:
				t.Errorf("%s of a job that is being sent: %v", name, wish)
			case begin != nil && !errors.Is(begin, ledger.ErrState):
				t.Error(begin)
			}
		})
	}
}

// TestPauseRightAfterResume: a sender that is paused again before it has left its first pause tells
// nothing new, and the job must stand as stopped all the same, or nobody can let it go on.
func TestPauseRightAfterResume(t *testing.T) {
	d := served(t)
	id := begun(t, d)
	var h heard
	d.Attach(id, &h)
	becomes := func(s ledger.State) {
		t.Helper()
		for end := time.Now().Add(10 * time.Second); d.state(t, id).State != s; time.Sleep(time.Millisecond) {
			if time.Now().After(end) {
				t.Fatalf("it never becomes %s: %+v", s, d.state(t, id))
			}
		}
	}
	if err := d.Pause(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	d.Progress(Progress{Job: id, Bytes: 30, Waiting: "paused by a person", Person: true})
	becomes(ledger.Stopped)
	if err := d.Resume(t.Context(), id, "", ""); err != nil {
		t.Fatal(err)
	}
	if err := d.Pause(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	becomes(ledger.Stopped)
}

// crossed is a machine that hears of something else while it is told to go on.
type crossed struct {
	heard
	paused    bool
	hears     chan bool // of every pause
	meanwhile func()
}

func (c *crossed) Pause() {
	c.paused = true
	c.hears <- true
}

func (c *crossed) Resume() {
	c.meanwhile()
	c.paused = false
}

// TestPauseCrossesResume: one person lets a job go on, another pauses it in the same moment, and the machine
// hears the pause first. The pause is answered last, and with success, so the machine must stand.
func TestPauseCrossesResume(t *testing.T) {
	d := served(t)
	t.Cleanup(d.Shut)
	id := begun(t, d)
	paused := make(chan error, 1)
	c := &crossed{hears: make(chan bool, 9)}
	c.meanwhile = func() {
		go func() { paused <- d.Pause(t.Context(), id) }()
		<-c.hears
	}
	d.Attach(id, c)
	if err := d.Pause(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	for len(c.hears) > 0 {
		<-c.hears
	}
	d.Progress(Progress{Job: id, Bytes: 30, Waiting: "paused by a person", Person: true})
	if err := d.Resume(t.Context(), id, "", ""); err != nil {
		t.Fatal(err)
	}
	if err := <-paused; err != nil {
		t.Fatal(err)
	}
	if !c.paused {
		t.Error("a pause was answered with success, and the machine goes on")
	}
}

// TestNothingBeginsOnALeavingDevice: from the moment a reload has found a device idle nothing of it begins
// or is let go, until the new settings are in force; a job that was let go on keeps its device.
func TestNothingBeginsOnALeavingDevice(t *testing.T) {
	d := served(t)
	t.Cleanup(d.Shut)
	d.Serve([]Device{{Name: "roll-plotter"}})
	id := waiting(t, d, "roll-plotter")
	if err := d.Leave("roll-plotter"); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Begin(t.Context(), id, 9, 100); !IsRefusal(err) {
		t.Errorf("a job began on a device that leaves: %v", err)
	}
	if err := d.Hold(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	if err := d.Release(t.Context(), id, nil, ""); !IsRefusal(err) {
		t.Errorf("a job was let go for a device that leaves: %v", err)
	}
	d.Serve([]Device{{Name: "roll-plotter"}})
	if err := d.Release(t.Context(), id, nil, ""); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Begin(t.Context(), id, 9, 100); err != nil {
		t.Fatal(err)
	}
	if err := d.Leave("roll-plotter"); !IsRefusal(err) {
		t.Errorf("a device left in the middle of a job: %v", err)
	}
}

// TestCancelOfAStoppedPrint: sheets that a sending handed over before it was cut short may still wait in the queue, so a
// cancel is carried out by a sending, also where a kill falls into it; where that one stops too, a second cancel ends the
// job here alone.
func TestCancelOfAStoppedPrint(t *testing.T) {
	first := served(t)
	printer := []Device{{Name: "roll-plotter", Prints: true}}
	first.Serve(printer)
	id := begun(t, first)
	var d *Jobs
	for range 2 {
		d = New(first.led, first.st, first.log, nil)
		t.Cleanup(d.Shut)
		d.Serve(printer)
		if j, err := d.CutShort(t.Context(), id); err != nil || j.State != ledger.Stopped {
			t.Fatalf("%+v, %v", j, err)
		}
		if err := d.Cancel(t.Context(), id); err != nil {
			t.Fatal(err)
		}
		if j := d.state(t, id); j.State != ledger.Processing || !j.Send.Cancel {
			t.Fatalf("canceled, it is %s: %+v", j.State, j.Send)
		}
	}
	var h heard
	if d.Attach(id, &h); h.cancels != 1 {
		t.Errorf("its sending was told %d times to take it back", h.cancels)
	}
	if _, err := d.Close(t.Context(), id, End{State: ledger.Stopped, Reason: "the queue cannot be asked"}); err != nil {
		t.Fatal(err)
	}
	if err := d.Cancel(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	if j := d.state(t, id); j.State != ledger.Canceled {
		t.Errorf("canceled twice, it is %s", j.State)
	}
}
