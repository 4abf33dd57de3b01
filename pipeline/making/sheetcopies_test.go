package making

import (
	"os"
	"strings"
	"testing"

	"tracewheel/devices"
)

// TestSheetsSayThatTheyAreOnePattern: a ticket's copies are not drawn by a printer of patterns, and the job says so; a
// printer that draws every copy has nothing to say.
func TestSheetsSayThatTheyAreOnePattern(t *testing.T) {
	draft, err := os.ReadFile("../../testdata/drafts/apron-mm.svg")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		patterns devices.Patterns
		ticket   string
		says     bool
	}{{devices.PatternsOnce, "copies: 3\n", true}, {devices.PatternsEveryCopy, "copies: 3\n", false}, {devices.PatternsOnce, "", false}} {
		room := Sample()
		d := room.Devices["office-printer"]
		d.Patterns = c.patterns
		room.Devices["office-printer"] = d
		w, err := New(room).Make(t.Context(), Request{Name: "apron.svg", Source: draft, Ticket: []byte(c.ticket), Device: "office-printer"})
		if err != nil || !w.Passes() {
			t.Fatalf("%+v: %v, %s%s", c, err, w.Reason, w.Hold)
		}
		notes := strings.Join(w.Notes, "\n")
		if got := strings.Contains(notes, "wants 3 copies and the pattern is printed once"); got != c.says {
			t.Errorf("%+v: %q", c, notes)
		}
	}
}
