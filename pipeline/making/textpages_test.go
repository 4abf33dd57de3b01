package making

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tracewheel/config/samples"
	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/job"
)

// TestFiguresAndReportAsPDF: poppler reads the words of the figures and of a refused draft's report in their PDF, every
// line once and in order, with a title and a language; the bytes are the same each time.
func TestFiguresAndReportAsPDF(t *testing.T) {
	needsPoppler(t)
	m := New(Sample())
	smock := Request{Name: "ferry-smock.yaml", Source: samples.Read("ferry-smock.yaml")}
	figures := func(form string) []byte {
		var b bytes.Buffer
		if _, err := m.Figures(t.Context(), &b, smock, cloths.Wish{}, form); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	w := m.Look(Request{Name: "usher-waistcoat.svg", Source: samples.Read("usher-waistcoat.svg")})
	found, err := m.Report(w)
	if err != nil {
		t.Fatal(err)
	}
	var findings strings.Builder
	for _, f := range w.Findings {
		findings.WriteString(f.Message + "\n" + f.Mend + "\n")
	}
	for _, c := range []struct {
		name, words, title string
		pdf                []byte
	}{{"figures", string(figures("text")), "Ferry-hand's smock, for A: figures", figures("pdf")}, {"report", findings.String(), "usher-waistcoat.svg: what was found", found}} {
		file := filepath.Join(t.TempDir(), "x.pdf")
		if err := os.WriteFile(file, c.pdf, 0o600); err != nil {
			t.Fatal(err)
		}
		var read []string // without the head of each further page
		for line := range strings.Lines(string(tool(t, "pdftotext", "-layout", file, "-"))) {
			if !strings.Contains(line, c.title+", page ") {
				read = append(read, strings.Fields(line)...)
			}
		}
		said := strings.Join(read, " ")
		lines := 0
		for line := range strings.Lines(c.words) {
			words := strings.Join(strings.Fields(line), " ")
			at := strings.Index(said, words)
			if at < 0 {
				t.Fatalf("%s: %q is not there after what came before", c.name, words)
			}
			if c.name == "figures" {
				said = said[at+len(words):]
			}
			lines++
		}
		if lines < 6 {
			t.Errorf("%s: only %d lines", c.name, lines)
		}
		if info := string(tool(t, "pdfinfo", file)); !strings.Contains(info, "Title:           "+c.title+"\n") {
			t.Errorf("%s: %s", c.name, info)
		}
		if !bytes.Contains(c.pdf, []byte("/Lang (en)")) {
			t.Errorf("%s has no language", c.name)
		}
	}
	if again, err := m.Report(w); err != nil || !bytes.Equal(again, found) || !bytes.Equal(figures("pdf"), figures("pdf")) {
		t.Error("other bytes the second time", err)
	}
}

// TestRefusedDraftComesWithPDF: among the pages that come back with a refused draft is a PDF. Poppler finds in it each
// finding and the pieces' names, which stand in the picture, as text in fonts that lie in the file, and no raster picture.
func TestRefusedDraftComesWithPDF(t *testing.T) {
	needsPoppler(t)
	m := New(Sample())
	in := job.Draft{Job: 7, Device: "roll-plotter", Name: "usher-waistcoat.svg", Source: samples.Read("usher-waistcoat.svg")}
	made, err := m.Build(t.Context(), in)
	if err != nil || !made.Refused {
		t.Fatal(made.Reason, err)
	}
	again, err := m.Build(t.Context(), in)
	if err != nil || !bytes.Equal(again.Report["report.pdf"], made.Report["report.pdf"]) {
		t.Error("other bytes the second time", err)
	}
	file := filepath.Join(t.TempDir(), "x.pdf")
	if err := os.WriteFile(file, made.Report["report.pdf"], 0o600); err != nil {
		t.Fatal(err)
	}
	said := strings.Join(strings.Fields(string(tool(t, "pdftotext", file, "-"))), " ")
	want := []string{"usher-waistcoat.svg, for roll-plotter", "job 7", "Front cut 2, a pair", "Back cut 1", "100 mm", "cut line"}
	for _, f := range made.Findings {
		want = append(want, f.Message, f.Mend)
	}
	for _, w := range want {
		if !strings.Contains(said, strings.Join(strings.Fields(w), " ")) {
			t.Errorf("%q is not there:\n%s", w, said)
		}
	}
	if list := tool(t, "pdfimages", "-list", file); len(bytes.Split(bytes.TrimSpace(list), []byte("\n"))) != 2 {
		t.Errorf("there are raster pictures:\n%s", list)
	}
	for i, line := range strings.Split(strings.TrimSpace(string(tool(t, "pdffonts", file))), "\n") {
		if f := strings.Fields(line); i > 1 && (len(f) < 5 || f[len(f)-5] != "yes") {
			t.Errorf("a font that is not embedded: %s", line)
		}
	}
}
