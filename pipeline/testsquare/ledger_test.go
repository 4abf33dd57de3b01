package testsquare

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"tracewheel/devices/calibration"
	"tracewheel/pipeline/ledger"
	"tracewheel/pipeline/store"
)

// A square that the ledger does not have as drawn must be confirmed before it is recorded.
func TestUnlikelySquare(t *testing.T) {
	room := emptyRoom(t)
	now := time.Now()
	o := Order{No: 3, Device: "roll-plotter", At: now}
	want := func(what, words string) {
		t.Helper()
		got, err := o.Unlikely(t.Context(), room, now)
		if err != nil || words == "" && got != "" || !strings.Contains(got, words) {
			t.Errorf("%s: %q, %v; want %q", what, got, err, words)
		}
	}
	want("no daemon has run", "")
	inbox := filepath.Join(room.Path(room.Folders.Inbox), o.Device)
	if err := os.MkdirAll(inbox, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(inbox, o.fileName()), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	want("no daemon has run, and it lies in its inbox", "still lies in its inbox, so that the daemon has not drawn it")
	if err := os.RemoveAll(inbox); err != nil {
		t.Fatal(err)
	}
	path := store.LedgerPath(room.Path(room.Folders.Store))
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	led, err := ledger.Open(t.Context(), path, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = led.Close() }()
	want("nothing is known of it", "was not taken from its inbox yet")
	j, err := led.Enter(t.Context(), ledger.Arrival{ID: led.Reserve(), Device: o.Device, File: o.fileName(),
		Files: []ledger.File{{Name: "original.json", Size: 1, SHA256: strings.Repeat("0", 64)}}})
	if err != nil {
		t.Fatal(err)
	}
	want("it waits", "is job 1, which is waiting")
	for _, s := range []ledger.State{ledger.Processing, ledger.Completed} {
		if j, err = led.Change(t.Context(), j.ID, func(j *ledger.Job) (ledger.Step, error) {
			j.State = s
			return ledger.Step{Kind: "test", Text: "moved on"}, nil
		}); err != nil {
			t.Fatal(err)
		}
	}
	want("it was drawn", "")
	now = now.Add(100 * 24 * time.Hour)
	room.Calibration = 0
	want("whatever was known is pruned", "")
}

// TestCalled: an order is named by its number; other files have no such name.
func TestCalled(t *testing.T) {
	for name, want := range map[string]string{Order{No: 12}.fileName(): "test square 12", "test-square-12.svg": "", "test-square-.square.json": "", "crown.square.json": "", "": ""} {
		if got := Called(name); got != want {
			t.Errorf("%s: %q, not %q", name, got, want)
		}
	}
}

// TestPlacesInTheUnit: the places of squares and a ladder's offsets are told in a unit: 508 mm are 20 in, 0.508 mm
// 0.02 in.
func TestPlacesInTheUnit(t *testing.T) {
	o := Order{Plot: calibration.Plot{Width: 508, Height: 254, Places: []orb.Point{{25.4, 50.8}}, Ladder: []float64{0.508}}}
	for unit, want := range map[string][]string{
		"mm": {"square 1: 508 by 254 mm, its lower left corner at 25.4, 50.8 mm", "1, cut for an offset of 0.51 mm"},
		"in": {"square 1: 20.000 by 10.000 in, its lower left corner at 1.000, 2.000 in", "1, cut for an offset of 0.02 in"},
	} {
		for i, line := range o.Lines(unit) {
			if !strings.HasSuffix(line, want[i]) {
				t.Errorf("%s: %q, want %q", unit, line, want[i])
			}
		}
	}
}
