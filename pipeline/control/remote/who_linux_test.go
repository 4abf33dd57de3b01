package remote

import (
	"fmt"
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
	c.Who = `Nell", login root (login root)`
	if err := c.Cancel(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	c.Who = ""
	again, _, err := c.AgainPieces(t.Context(), id, "", "")
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
	if e := last(id, 1); !strings.HasSuffix(e.Text, "(login "+me.Username+`, "Nell', login root [login root]")`) {
		t.Errorf("what a person calls themselves does not stand behind the login: %q", e.Text)
	}
	for _, e := range []ledger.Event{last(id, 2), last(again, 1)} {
		if !strings.HasSuffix(e.Text, "(login "+me.Username+")") && !strings.Contains(e.Text, "(login "+me.Username+");") {
			t.Errorf("%s: %q does not name %q", e.Kind, e.Text, me.Username)
		}
	}
}

// TestNamesThatAreRefused: a name that would not stand on one line of the history, or is too long, is refused, and
// nothing is done; but what stops a machine is done without the name.
func TestNamesThatAreRefused(t *testing.T) {
	dir, d := served(t)
	d.Serve([]control.Device{{Name: "roll-plotter"}})
	id := waiting(t, d, "roll-plotter")
	for _, who := range []string{"Nell\nreleased by a person", "Nell\x1b[2J", strings.Repeat("N", 61)} {
		c, err := Dial(t.Context(), dir)
		if err != nil {
			t.Fatal(err)
		}
		c.Who = who
		if err := c.Next(t.Context(), id); err == nil || !strings.Contains(err.Error(), "a name") {
			t.Errorf("next by %q: %v", who, err)
		}
		_ = c.Close()
		if c, err = Dial(t.Context(), dir); err != nil {
			t.Fatal(err)
		}
		c.Who = who
		stopped := waiting(t, d, "roll-plotter")
		if err := c.Hold(t.Context(), stopped); err != nil || state(t, d, stopped).State != ledger.Held {
			t.Errorf("hold by %q: %v, and the job is %s", who, err, state(t, d, stopped).State)
		}
		if err := c.Cancel(t.Context(), stopped); err != nil || state(t, d, stopped).State != ledger.Canceled {
			t.Errorf("cancel by %q: %v, and the job is %s", who, err, state(t, d, stopped).State)
		}
		if err := c.Pause(t.Context(), id); err == nil || strings.Contains(err.Error(), "a name") { // it does not run
			t.Errorf("pause by %q: %v", who, err)
		}
		if events, err := d.Events(t.Context(), stopped); err != nil || strings.Contains(fmt.Sprint(events), "Nell") || strings.Contains(fmt.Sprint(events), "NNN") {
			t.Errorf("the history of %q: %v, %v", who, events, err)
		}
		_ = c.Close()
	}
	if is := state(t, d, id).State; is != ledger.Pending {
		t.Errorf("the job that was refused is %s", is)
	}
}
