package remote

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"time"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/ledger"
)

// waiting brings a job of a device as far as a program.
func waiting(t *testing.T, d room, device string) int64 {
	t.Helper()
	id := d.Reserve()
	sum, err := d.st.Save(id, "original.svg", bytes.NewReader([]byte("skirt")))
	if err != nil {
		t.Fatal(err)
	}
	a := ledger.Arrival{ID: id, Device: device, File: "skirt.svg", Files: []ledger.File{{Name: sum.Name, Size: sum.Size, SHA256: sum.SHA256}}}
	if err := d.Enter(t.Context(), a); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Ready(t.Context(), id, control.Made{Ready: true, Pieces: 1}); err != nil {
		t.Fatal(err)
	}
	return id
}

func state(t *testing.T, d room, id int64) ledger.Job {
	t.Helper()
	j, err := d.Job(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// refusedFor holds that a wish was refused and which word would let it be done.
func refusedFor(t *testing.T, what string, err error, say control.Confirmation) {
	t.Helper()
	var r *control.Refusal
	if !errors.As(err, &r) || r.Say != say || say != "" && !strings.Contains(r.Hint, "--"+string(say)) {
		t.Errorf("%s: %v (%+v)", what, err, r)
	}
}

// TestCutterNeedsAWord asks through the socket for everything that moves a cutter: without the word it
// is refused and nothing has changed, whoever asks.
func TestCutterNeedsAWord(t *testing.T) {
	dir, d := served(t)
	d.Serve([]control.Device{{Name: "knife-table", Cuts: true}, {Name: "roll-plotter"}})
	t.Cleanup(d.Shut)
	c, err := Dial(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close() //nolint:errcheck // all answers have come
	ctx, id := t.Context(), waiting(t, d, "knife-table")
	trial := func(how string, said control.Confirmation) error { _, err := c.ToolUp(ctx, id, how, said); return err }
	for _, said := range []control.Confirmation{"", control.NotShifted, "yes"} {
		refusedFor(t, "release", c.Release(ctx, id, nil, said), control.BedClear)
		refusedFor(t, "dry", trial(control.ToolUpDry, said), control.BedClear)
		refusedFor(t, "bounds", trial(control.ToolUpBounds, said), control.BedClear)
	}
	if j := state(t, d, id); j.State != ledger.Held || j.Released {
		t.Errorf("it is %s", j.State)
	}
	refusedFor(t, "a trial by an answer", c.Release(ctx, id, map[string]string{answers.ToolUp: control.ToolUpDry}, control.BedClear), "")
	if err := c.Release(ctx, id, nil, control.BedClear); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Begin(ctx, id, 3, 30); err != nil {
		t.Fatal(err)
	}
	d.Progress(control.Progress{Job: id, Waiting: "paused by a person", Person: true, Stroke: -1, Piece: -1, Sure: -1, SureBlock: -1})
	for end := time.Now().Add(time.Minute); state(t, d, id).State != ledger.Stopped && time.Now().Before(end); {
		time.Sleep(time.Millisecond)
	}
	for _, said := range []control.Confirmation{"", control.BedClear} { // the cloth under a held blade may have shifted
		refusedFor(t, "resume", c.Resume(ctx, id, "", said), control.NotShifted)
	}
	if err := c.Resume(ctx, id, "", control.NotShifted); err != nil {
		t.Error(err)
	}
	pen := waiting(t, d, "roll-plotter")
	if _, err := c.ToolUp(ctx, pen, control.ToolUpDry, ""); err != nil {
		t.Errorf("a pen needs no word: %v", err)
	}
}
