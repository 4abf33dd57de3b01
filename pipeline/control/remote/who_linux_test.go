package remote

import (
	"os/user"
	"strings"
	"testing"

	"tracewheel/devices/needs"
	"tracewheel/pipeline/control"
	"tracewheel/pipeline/ledger"
)

// TestHistoryKeepsTheLogin: what came over the socket stands in the history with the login name of who
// asked, as the kernel tells it (unix(7), SO_PEERCRED).
func TestHistoryKeepsTheLogin(t *testing.T) {
	me, err := user.Current()
	needs.Right(t, err == nil, "this user has no name")
	dir, d := served(t)
	d.Serve([]control.Device{{Name: "roll-plotter"}})
	id := waiting(t, d, "roll-plotter")
	c, err := Dial(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close() //nolint:errcheck // all was answered
	if err := c.Hold(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	if err := c.Cancel(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	again, _, err := c.AgainPieces(t.Context(), id, "")
	if err != nil {
		t.Fatal(err)
	}
	last := func(job int64, back int) ledger.Event {
		events, err := d.Events(t.Context(), job)
		if err != nil || len(events) < back {
			t.Fatalf("%v, %v", events, err)
		}
		return events[len(events)-back]
	}
	for _, e := range []ledger.Event{last(id, 2), last(id, 1), last(again, 1)} {
		if !strings.HasSuffix(e.Text, "(login "+me.Username+")") && !strings.Contains(e.Text, "(login "+me.Username+");") {
			t.Errorf("%s: %q does not name %q", e.Kind, e.Text, me.Username)
		}
	}
}
