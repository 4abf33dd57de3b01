package making

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"tracewheel/config"
	"tracewheel/devices"
	"tracewheel/devices/hpgl"
	"tracewheel/pipeline/job"
	"tracewheel/pipeline/pattern"
)

// draftFiles are the shown drafts, and those that lie beside a checkout.
func draftFiles(t testing.TB) []string {
	t.Helper()
	var out []string
	names := map[string]bool{}
	for _, dir := range []string{"../../testdata/drafts", "../../../shared/drafts"} {
		for _, ext := range []string{"*.svg", "*.dxf"} {
			files, err := filepath.Glob(filepath.Join(dir, ext))
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range files {
				if !names[filepath.Base(f)] {
					names[filepath.Base(f)] = true
					out = append(out, f)
				}
			}
		}
	}
	if len(out) == 0 {
		t.Fatal("no drafts here")
	}
	return out
}

// planned takes a draft to its strokes for the sample's roll plotter and tells how long reading and
// preparing took. A draft that states no allowance is taken as drawn with it.
func planned(t testing.TB, file string) (whole, time.Duration) {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var rules []string
	for _, r := range pattern.Rules() {
		rules = append(rules, r.Name)
	}
	h := &Maker{Room: config.Sample(rules)}
	w := &Work{Looked: Looked{Request: Request{Name: filepath.Base(file), Source: data, Device: "roll-plotter",
		Answers: map[string]string{"allowance": "included"}}}}
	began := time.Now()
	var j Judged
	w.Read, j = h.read(w.Request)
	w.add(j)
	of := Made{Setup: h.setup(w.Request.Device, w.Ticket.Material, h.measured(w.Request.Device))}
	w.add(h.judge(w.Read, &of.Setup, w.Request.Answers))
	of.Prepared, j = h.prepare(w.Read, of.Setup, Request{})
	w.add(j)
	took := time.Since(began)
	of.Planned, j = h.plan(t.Context(), w.Read, of.Prepared, Request{}, of.Setup, job.Rest{})
	w.add(j)
	return whole{w, of}, took
}

// TestEncodedShareOfDrafts: encoded HP-GL/2 takes at most 35 % of the bytes of plain PD for the same drawing
// at the same resolution.
func TestEncodedShareOfDrafts(t *testing.T) {
	for _, file := range draftFiles(t) {
		w, _ := planned(t, file)
		if len(w.Strokes) == 0 {
			t.Errorf("%s: nothing to draw: %v", file, w.Findings)
			continue
		}
		p := devices.Default(devices.PenPlotter, devices.HPGL2)
		encoded, err := hpgl.Encode(w.Strokes, p)
		if err != nil {
			t.Fatal(err)
		}
		p.Plot.Encoded = false
		plain, err := hpgl.Encode(w.Strokes, p)
		if err != nil {
			t.Fatal(err)
		}
		share := 100 * float64(encoded.Len()) / float64(plain.Len())
		t.Logf("%s: %d bytes plain, %d encoded, %.1f %%", filepath.Base(file), plain.Len(), encoded.Len(), share)
		if share > 35 {
			t.Errorf("%s: %.1f %% of plain", file, share)
		}
	}
}

// BenchmarkEncodeShare prints what encoding takes as a share of reading and preparing the same draft;
// it should stay under 10 %.
func BenchmarkEncodeShare(b *testing.B) {
	for _, file := range draftFiles(b) {
		b.Run(filepath.Base(file), func(b *testing.B) {
			var reading, encoding time.Duration
			for b.Loop() {
				w, took := planned(b, file)
				reading += took
				began := time.Now()
				if _, err := hpgl.Encode(w.Strokes, devices.Default(devices.PenPlotter, devices.HPGL2)); err != nil {
					b.Fatal(err)
				}
				encoding += time.Since(began)
			}
			b.ReportMetric(100*float64(encoding)/float64(reading), "%-of-reading")
		})
	}
}
