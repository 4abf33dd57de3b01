//go:build browser

package figures_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/devices/needs"
	"tracewheel/pipeline/draft/measured"
)

// TestPagePrints prints the page of figures with Chromium and reads the paper with poppler's pdftotext:
// every place to chalk must stand on it as a tape reads it.
func TestPagePrints(t *testing.T) {
	needs.Program(t, "chromium", "chromium")
	needs.Program(t, "poppler-utils", "pdftotext")
	dir := t.TempDir()
	for _, file := range []string{"ferry-smock.yaml", "lamplighter-jacket.yaml"} {
		f, err := measured.FiguresOf(samples.Read(file), file, measured.Options{})
		if err != nil {
			t.Fatal(err)
		}
		html, err := os.Create(filepath.Join(dir, "page.html"))
		if err != nil {
			t.Fatal(err)
		}
		if err := f.HTML(html); err != nil {
			t.Fatal(err)
		}
		html.Close()
		pdf := filepath.Join(dir, "page.pdf")
		print := exec.Command("chromium", "--headless", "--no-sandbox", "--disable-gpu", "--user-data-dir="+filepath.Join(dir, "profile"), "--print-to-pdf="+pdf, html.Name())
		if out, err := print.CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, out)
		}
		text, err := exec.Command("pdftotext", "-layout", pdf, "-").Output()
		if err != nil {
			t.Fatal(err)
		}
		for _, pc := range f.Pieces {
			for _, m := range append(pc.Marking.Outline, pc.Marking.Inside...) {
				row := regexp.QuoteMeta(m.Across) + ` +` + regexp.QuoteMeta(m.Down) + `\b`
				if !regexp.MustCompile(row).Match(text) {
					t.Errorf("%s %s: %s across and %s down is not on the paper", file, pc.Name, m.Across, m.Down)
				}
			}
		}
	}
}
