package making

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/config/samples"
	"tracewheel/devices"
	"tracewheel/geom"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/sheets"
	"tracewheel/pipeline/testsquare"
)

// TestSheetsNet: without an allowance the cut line is the sew line of the draft, and the notches stay. Each piece says so,
// a piece with room in letters that are higher than its name.
func TestSheetsNet(t *testing.T) {
	m := New(Sample())
	r := Request{Name: "ferry-smock.yaml", Source: samples.Read("ferry-smock.yaml")}
	w, ready, err := m.cutReady(r, SheetWish{Net: true})
	if err != nil {
		t.Fatal(err)
	}
	notches := map[string]int{}
	for i := range ready {
		p := &ready[i]
		piece := &w.Pattern.Pieces[p.Index]
		heights := map[string]float64{}
		for _, l := range p.Lines {
			if l.Word != nil {
				heights[l.Word.Text] = l.Word.Height
			}
		}
		if small := heights["no seam allowance"]; small == 0 && !strings.Contains(fmt.Sprint(heights), "no seam allowance") {
			t.Errorf("%s does not say that it has no allowance: %v", p.Name, heights)
		}
		if large := max(heights["NO SEAM ALLOWANCE"], heights["ALLOWANCE"]); len(piece.Sew) > 0 && large < 2*heights[p.Name] {
			t.Errorf("%s says it in letters of %.0f mm, its name in %.0f", p.Name, large, heights[p.Name])
		}
		if len(piece.Sew) == 0 {
			continue
		}
		sew := piece.Sew[0]
		if d := math.Abs(p.Outline.Area() - sew.Area()); d > 1 {
			t.Errorf("%s: the areas differ by %.1f mm2", p.Name, d)
		}
		for _, line := range p.CutLines() {
			for _, at := range line.Points {
				if n := sew.Nearest(at); n.Dist > offMost {
					t.Fatalf("%s: %.2f %.2f lies %.3f mm off the sew line", p.Name, at[0], at[1], n.Dist)
				}
			}
		}
		for _, l := range p.Lines {
			if l.Role == pattern.RoleNotch {
				notches[p.Name]++
			}
		}
	}
	if notches["front"] < 5 {
		t.Errorf("the front has %d notches", notches["front"])
	}
}

// TestProjectorReadBack: poppler finds every cut line at its place on the one page.
func TestProjectorReadBack(t *testing.T) {
	needsPoppler(t)
	m := New(Sample())
	set, _, err := m.sheetSet(t.Context(), []Request{{Name: "ferry-smock.yaml", Source: samples.Read("ferry-smock.yaml")}}, SheetWish{EveryCopy: true})
	if err != nil {
		t.Fatal(err)
	}
	book, err := sheets.Project(set, sheets.ProjectorWidth, lay.Rows)
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "x.pdf")
	if err := os.WriteFile(file, book.PDF, 0o600); err != nil {
		t.Fatal(err)
	}
	s := sheetRead{lines: map[int][]geom.Path{}}
	s.read(t, tool(t, "pdftocairo", "-svg", "-noshrink", "-nocenter", file, "-"))
	if len(s.lines[200]) == 0 || len(book.Placed) != len(set.Ready) {
		t.Fatalf("%d cut lines, %d pieces of %d", len(s.lines[200]), len(book.Placed), len(set.Ready))
	}
	found := geom.NewIndex(s.lines[200]...)
	for _, p := range book.Placed {
		for _, at := range set.Ready[p.Ready].Outline.Apply(p.Map).Points {
			if _, n := found.Nearest(at); n.Dist > offMost || p.Map.Det() < 0.999 {
				t.Fatalf("%s: %.2f %.2f is missing (%.3f mm)", set.Ready[p.Ready].Name, at[0], at[1], n.Dist)
			}
		}
	}
	grid := 0.0
	for _, l := range s.lines[80] { // every line of the grid on a multiple of 100 mm
		a, b := l.Points[0], l.Points[1]
		for k := range 2 {
			if a[k] == b[k] {
				grid++
				if off := math.Abs(a[k] - 100*math.Round(a[k]/100)); off > offMost {
					t.Errorf("a line of the grid at %.3f mm", a[k])
				}
			}
		}
	}
	if grid < 20 {
		t.Errorf("%v lines of the grid", grid)
	}
}

// TestSheetsForMeasuredPrinter: what a printer distorts as it was measured comes out true, and within the ink.
func TestSheetsForMeasuredPrinter(t *testing.T) {
	needsPoppler(t)
	m := New(Sample())
	set, _, err := m.sheetSet(t.Context(), []Request{{Name: "ferry-smock.yaml", Source: samples.Read("ferry-smock.yaml")}}, SheetWish{})
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"a4", "letter landscape"} {
		paper, err := sheets.ParsePaper(name, -1)
		if err != nil {
			t.Fatal(err)
		}
		prints := geom.Affine{A: 0.993, B: 0.002, C: -0.001, D: 1.006} // along x too short, along y too long, askew
		book, err := sheets.Make(set, sheets.Options{Paper: paper, Overlap: sheets.Overlap, Lay: lay.Rows, Printer: prints, Measured: []string{"measured on 1 November"}})
		if err != nil {
			t.Fatal(err)
		}
		w, h := paper.Width, paper.Height
		printed := geom.Translate(w/2, h/2).After(prints).After(geom.Translate(-w/2, -h/2))
		ink := orb.Bound{Min: orb.Point{paper.Left, paper.Bottom}, Max: orb.Point{w - paper.Right, h - paper.Top}}
		if err := readsBackPrinted(t, book, set.Ready, func(p orb.Point) orb.Point {
			if !inset(ink, -0.2).Contains(p) { // half a line is wider
				t.Errorf("%s: ink at %.2f %.2f, outside of %v", name, p[0], p[1], ink)
			}
			return printed.Apply(p)
		}); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if err := readsBack(t, book, set.Ready); err == nil {
			t.Errorf("%s: the correction moves nothing", name)
		}
	}
}

// TestSheetsNested: two sizes of a piece lie on one another, each whole, once, with its name along its line and a layer
// of its own.
func TestSheetsNested(t *testing.T) {
	needsPoppler(t)
	m := New(Sample())
	var rs []Request
	for _, body := range []string{"A", "B"} {
		rs = append(rs, Request{Name: "ferry-smock.yaml", Source: samples.Read("ferry-smock.yaml"), Answers: map[string]string{"body": body}})
	}
	set, _, err := m.sheetSet(t.Context(), rs, SheetWish{})
	if err != nil {
		t.Fatal(err)
	}
	paper, err := sheets.ParsePaper("a3", -1)
	if err != nil {
		t.Fatal(err)
	}
	book, err := sheets.Make(set, sheets.Options{Paper: paper, Overlap: sheets.Overlap, Lay: lay.Rows})
	if err != nil {
		t.Fatal(err)
	}
	if err := readsBack(t, book, set.Ready); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"front", "back"} {
		places := map[[2]float64]int{}
		for _, p := range book.Placed {
			if r := &set.Ready[p.Ready]; r.Name == name {
				c := r.Outline.Apply(p.Map).Bound().Center()
				places[[2]float64{math.Round(c[0] / 100), math.Round(c[1] / 100)}]++
			}
		}
		if len(places) != 1 {
			t.Errorf("the sizes of %s lie apart: %v", name, places)
		}
	}
	file := filepath.Join(t.TempDir(), "x.pdf")
	if err := os.WriteFile(file, book.PDF, 0o600); err != nil {
		t.Fatal(err)
	}
	said := strings.Fields(string(tool(t, "pdftotext", file, "-")))
	for _, size := range []string{"A", "B"} {
		n := 0
		for _, w := range said {
			if w == size {
				n++
			}
		}
		if n < 30 {
			t.Errorf("the size %s is named %d times", size, n)
		}
	}
	if n := bytes.Count(book.PDF, []byte("/Type /OCG")); n != 2 {
		t.Errorf("%d layers for two sizes", n)
	}
}

// TestEverySheetSaysItsCalibration: readings of a sheet mean nothing without the calibration that it carries, so each
// says it in words, of `sheets` and of a job, and one of no calibration says so too.
func TestEverySheetSaysItsCalibration(t *testing.T) {
	needsPoppler(t)
	m := New(Sample())
	calibrated := devices.Correction{ScaleX: 1.004, ScaleY: 0.996}
	setting := testsquare.Setting{}
	m.setting = func(string, string) testsquare.Setting { return setting }
	r := Request{Name: "ferry-smock.yaml", Source: samples.Read("ferry-smock.yaml")}
	for want, s := range map[string]testsquare.Setting{
		"corrected by no calibration": {},
		"corrected by calibration 7":  {Setting: devices.Setting{Correction: calibrated}, Carried: 7, Measured: []string{"Corrected by calibration 7 of office-printer,"}},
	} {
		setting = s
		wish, err := m.SheetWish(SheetFlags{Printer: "office-printer"})
		if err != nil {
			t.Fatal(err)
		}
		book, _, err := m.Sheets(t.Context(), []Request{r}, wish)
		if err != nil {
			t.Fatal(err)
		}
		made, err := m.Make(t.Context(), Request{Name: r.Name, Source: r.Source, Device: "office-printer"})
		if err != nil {
			t.Fatal(err)
		}
		for what, pdf := range map[string][]byte{"sheets": book.PDF, "job": made.Program.Bytes()} {
			file := filepath.Join(t.TempDir(), "x.pdf")
			if err := os.WriteFile(file, pdf, 0o600); err != nil {
				t.Fatal(err)
			}
			for page := 1; page <= book.Sheets+1; page++ {
				n := fmt.Sprint(page)
				said := strings.ToLower(strings.Join(strings.Fields(string(tool(t, "pdftotext", "-f", n, "-l", n, file, "-"))), " "))
				if !strings.Contains(said, want) {
					t.Errorf("%s, page %d does not say %q: %s", what, page, want, said)
				}
			}
		}
	}
}

// Each sheet of a toile says that it is one, for whom it is and which fitting went into it; so does each of a garment made
// after a fitting. Poppler reads them.
func TestSheetsSayToileAndFitting(t *testing.T) {
	m := New(Sample())
	card, err := os.ReadFile("../../config/samples/cards/chorus-4.yaml")
	if err != nil {
		t.Fatal(err)
	}
	card = bytes.Replace(card, []byte("changes: {}"), []byte("changes: {2026-11-20: {bust: 1 more}}"), 1)
	for toile, want := range map[string]string{"true": "lamplighter's page jacket, toile, for chorus 4, fitted 2026-11-20", "": "lamplighter's page jacket, for chorus 4, fitted 2026-11-20"} {
		r := Request{Name: "lamplighter-jacket.yaml", Source: samples.Read("lamplighter-jacket.yaml"), Answers: map[string]string{"body": "chorus-4"}, Cards: map[string][]byte{"chorus-4": card}}
		if toile != "" {
			r.Answers[AnswerToile] = toile
		}
		wish, err := m.SheetWish(SheetFlags{Paper: "a3", Patterns: "once"})
		if err != nil {
			t.Fatal(err)
		}
		book, found, err := m.Sheets(t.Context(), []Request{r}, wish)
		if err != nil {
			t.Fatal(err, found)
		}
		file := filepath.Join(t.TempDir(), "x.pdf")
		if err := os.WriteFile(file, book.PDF, 0o600); err != nil {
			t.Fatal(err)
		}
		for _, page := range []int{1, 2, book.Sheets + 1} {
			n := fmt.Sprint(page)
			said := strings.ToLower(strings.Join(strings.Fields(string(tool(t, "pdftotext", "-f", n, "-l", n, file, "-"))), " "))
			if !strings.Contains(said, want) {
				t.Errorf("page %d does not say %q: %.200s", page, want, said)
			}
		}
	}
}
