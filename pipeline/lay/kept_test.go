package lay

import (
	"strings"
	"testing"

	"tracewheel/pipeline/pattern"
)

// A lay stored by an earlier program, which did not know a plotter's sheets, is still read: its hash is of the
// material without them. So is one stored under another calibration, which changes the sheets by tenths.
func TestKeptLayOutlivesSheets(t *testing.T) {
	const sum = "8dfdd2de20e0853c959baa00c73322f9766f6acb0038ccb9aa3b0eb1dfc6ab2d" // as the program stored it before it knew sheets
	m := pattern.Material{Name: "card", Width: 420, Gap: 5, Margin: 10}
	ready := []pattern.Ready{rect("panel", 540, 380)}
	l, found := OnMachine(t.Context(), ready, m, few)
	if len(found) > 0 {
		t.Fatal(found)
	}
	data, err := Keep(l, ready, m)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(data), sum) {
		t.Errorf("the sum is another one: %s", data)
	}
	m.Pages = pattern.Pages{Step: 574, Room: 594}
	if _, err := Kept(data, ready, m); err != nil {
		t.Error(err)
	}
}
