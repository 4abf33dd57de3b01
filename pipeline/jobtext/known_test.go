package jobtext

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/config"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// TestKnownBeforeRelease: before a release show says for whom and from what a job is made, how long its lay is, where the
// picture lies and what was found; afterwards for whom and from what alone.
func TestKnownBeforeRelease(t *testing.T) {
	dir := t.TempDir()
	room := &config.Workroom{Units: "mm", Folders: config.Folders{Store: dir}}
	of := store.Look(room.Path(dir)).JobDir(4)
	if err := os.MkdirAll(of, 0o700); err != nil {
		t.Fatal(err)
	}
	j := ledger.Job{ID: 4, State: ledger.Held, Ticket: "ticket.yaml", Lay: "0123456789abcdef",
		Order: ledger.Order{Production: "Harbour Lights", Wearer: "the boatswain", Due: "2026-03-14", Material: "calico"}}
	for name, text := range map[string]string{
		"ticket.yaml":         "body: boatswain-1\n",
		ledger.LayFile(j.Lay): `{"for": "x", "length_mm": 1234.56, "width_mm": 1400}`,
		"picture-lay.svg":     "<svg/>",
		store.Findings: `[{"rule": "grain-missing", "severity": "warning", "piece": "sleeve", "message": "there is no grain line", "mend": "draw one"},
			{"rule": "other-cloth", "severity": "warning", "message": "the draft names canvas", "mend": "look"}]`,
	} {
		if err := os.WriteFile(filepath.Join(of, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	lines := func(want ...string) {
		t.Helper()
		var out bytes.Buffer
		Teller{Out: &out, Room: room}.Job(t.Context(), j, nil, nil, nil)
		said := map[string]bool{}
		for line := range strings.Lines(out.String()) {
			said[strings.Join(strings.Fields(line), " ")] = true
		}
		for _, w := range want {
			if !said[w] {
				t.Errorf("%s: no %q in\n%s", j.State, w, out.String())
			}
		}
		if len(said) != len(want)+1 {
			t.Errorf("%s: %d lines in\n%s", j.State, len(said), out.String())
		}
	}
	order := []string{"production Harbour Lights", "wearer the boatswain", "body boatswain-1", "due 2026-03-14", "material calico"}
	seen := []string{"lay 01234567", "length 1234.6 mm of a width of 1400 mm", "picture " + filepath.Join(of, "picture-lay.svg"),
		"warning sleeve: there is no grain line -> draw one", "warning the draft names canvas -> look"}
	lines(append(seen, order...)...)
	// the list, too, and the release name the other cloth, which the list of a job that has ended does not
	if why := (Teller{Room: room}).why(j, 0, "", true); why != "the draft names canvas" {
		t.Errorf("the list: %q", why)
	}
	j.State = ledger.Completed
	if why := (Teller{Room: room}).why(j, 0, "", true); why != "" {
		t.Errorf("the list of what is done: %q", why)
	}
	lines(append(seen[:1], order...)...)
}
