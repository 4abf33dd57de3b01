package pipeline

import (
	"context"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tracewheel/pipeline/ledger"
)

// A place in an SVG draft is told as the file has it, y down from the page's upper edge, in messages and
// on the page; at_mm stays y up.
func TestPlacesInSVGAsTheFileHasThem(t *testing.T) {
	h := NewHouse(Sample())
	const draft = `<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 0 400 300">` +
		`<path class="cut" d="M50 20H250V120L50 30L150 120Z"/></svg>`
	w := h.Look(Request{Source: []byte(draft), Name: "loop.svg"})
	c := w.Checked()
	seen := false
	for i, f := range w.Findings {
		if f.Rule != "outline-crosses-itself" {
			continue
		}
		seen = true
		at := c.Findings[i].At
		if at == nil || at[1] < 150 {
			t.Errorf("at_mm %v is not counted upwards", at)
		}
		// y = 30 + 0.45 (x - 50) meets y = 20 + (x - 50) at x = 68.18, y = 38.18.
		if !strings.Contains(f.Message, "(68.2, 38.2)") {
			t.Errorf("%q does not tell the place as the file has it", f.Message)
		}
	}
	if !seen {
		t.Fatalf("%+v", w.Findings)
	}
	files, err := h.report(w, 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"report.txt", "report.html"} {
		if s := string(files[name]); !strings.Contains(s, "at 68.2, 38.2 mm from the page") {
			t.Errorf("%s does not tell the place as the file has it:\n%s", name, s)
		}
	}
}

// The demo lets its cutter's job go by itself, and the history says so.
func TestDemoDoesNotSayThatAPersonReleased(t *testing.T) {
	ctx, cancel := context.WithTimeout(t.Context(), 4*time.Minute)
	defer cancel()
	d, err := NewDemo(ctx, filepath.Join(t.TempDir(), "demo"), &strings.Builder{})
	if err != nil {
		t.Skipf("no demo here: %v", err)
	}
	defer d.Stop() //nolint:errcheck // all was seen
	if err := d.Drop(); err != nil {
		t.Fatal(err)
	}
	if err := d.Watch(ctx, true); err != nil {
		t.Fatal(err)
	}
	jobs, err := d.shop.Desk().Jobs(ctx, ledger.Filter{Device: demoCutter})
	if err != nil || len(jobs) == 0 {
		t.Fatalf("%d jobs, %v", len(jobs), err)
	}
	for _, j := range jobs {
		events, err := d.shop.Desk().Events(ctx, j.ID)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range events {
			if e.Kind == "release" && (strings.Contains(e.Text, "person") || !strings.Contains(e.Text, "demo")) {
				t.Errorf("job %d: %q", j.ID, e.Text)
			}
		}
	}
}
