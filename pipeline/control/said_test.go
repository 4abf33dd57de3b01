package control

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"tracewheel/pipeline/ledger"
)

// TestRefusalSaysWhatToType: who asks for what a state does not allow is told what it does.
func TestRefusalSaysWhatToType(t *testing.T) {
	d := served(t)
	d.Serve([]Device{{Name: "roll-plotter"}})
	for _, c := range []struct {
		state       ledger.State
		device      string
		want, never string
	}{
		{ledger.Stopped, "roll-plotter", "tracewheel resume 8", ""},
		{ledger.Processing, "roll-plotter", "tracewheel pause 8", ""},
		{ledger.Held, "roll-plotter", "tracewheel release 8", ""},
		{ledger.Pending, "roll-plotter", "by itself; tracewheel hold 8", ""},
		{ledger.Pending, "old-plotter", "add it to the workroom file, or tracewheel cancel 8", "by itself"},
		{ledger.Canceled, "roll-plotter", "tracewheel again 8", ""},
		{ledger.Completed, "roll-plotter", "tracewheel again 8", ""},
		{ledger.Aborted, "roll-plotter", "tracewheel show 8", "again 8"},
	} {
		r, ok := d.cannot(&ledger.Job{ID: 8, State: c.state, Device: c.device, Ready: true}, "made again").(*Refusal)
		if !ok || !strings.Contains(r.Hint, c.want) || c.never != "" && strings.Contains(r.Hint, c.never) {
			t.Errorf("%s on %s: %+v", c.state, c.device, r)
		}
	}
}

// TestPiecesOfWhatWasNeverMade: a job that ended before it was made has no pieces by number, and says so and what makes it.
func TestPiecesOfWhatWasNeverMade(t *testing.T) {
	d := served(t)
	id := d.Reserve()
	if err := d.Enter(t.Context(), ledger.Arrival{ID: id, Device: "roll-plotter", File: "skirt.svg", Files: []ledger.File{{Name: "original.svg"}}}); err != nil {
		t.Fatal(err)
	}
	if err := d.Cancel(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	var no *Refusal
	if _, _, err := d.AgainPieces(t.Context(), id, "1", ""); !errors.As(err, &no) || !strings.Contains(no.Text, "ended before it was made") || no.Hint != fmt.Sprintf("tracewheel again %d makes all of them", id) {
		t.Errorf("%+v", err)
	}
}
