package making

import (
	"io/fs"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/pattern"
)

// Each starter garment is plotted, and cut unless it is larger than the sample's table.
func TestStartersAreMade(t *testing.T) {
	files, err := fs.Glob(samples.Drafts(), "*.yaml")
	if err != nil || len(files) < 20 {
		t.Fatalf("%d starters, %v", len(files), err)
	}
	h, cut := New(Sample()), 0
	for _, file := range files {
		r := Request{Name: file, Source: samples.Read(file), Device: "roll-plotter"}
		made(t, h, r)
		r.Device = "knife-table"
		w, err := h.Make(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		if len(w.Program.Blocks) > 0 {
			cut++
			continue
		}
		for _, f := range w.Findings {
			if f.Severity == pattern.Error && f.Rule != pattern.RuleTooWide && f.Rule != pattern.RuleTooShort {
				t.Errorf("%s is not cut: %s", file, f.Message)
			}
		}
	}
	if cut < len(files)/2 {
		t.Errorf("only %d of %d are cut", cut, len(files))
	}
}
