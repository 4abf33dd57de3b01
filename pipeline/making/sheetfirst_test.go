package making

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/config/samples"
	"tracewheel/geom"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/sheets"
)

// TestFirstSheet: poppler finds both test squares at their true size, the words, the whole list, and every font in the
// file; all ink of an A4 or Letter file lies where both papers take it.
func TestFirstSheet(t *testing.T) {
	needsPoppler(t)
	m := New(Sample())
	set, _, err := m.sheetSet(t.Context(), []Request{{Name: "ferry-smock.yaml", Source: samples.Read("ferry-smock.yaml")}}, SheetWish{})
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"a4", "letter", "a4 landscape", "letter landscape", "legal", "a3", "a0 landscape", "36in roll"} {
		paper, err := sheets.ParsePaper(name, -1)
		if err != nil {
			t.Fatal(err)
		}
		book, err := sheets.Make(set, sheets.Options{Paper: paper, Overlap: sheets.Overlap, Lay: lay.Rows})
		if err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(t.TempDir(), "x.pdf")
		if err := os.WriteFile(file, book.PDF, 0o600); err != nil {
			t.Fatal(err)
		}
		s := sheetRead{lines: map[int][]geom.Path{}}
		s.read(t, tool(t, "pdftocairo", "-svg", "-noshrink", "-nocenter", "-f", "1", "-l", "1", file, "-"))
		squares := map[float64]int{}
		for _, p := range s.lines[35] {
			if b := p.Bound(); p.Closed && len(p.Points) >= 4 {
				for _, side := range []float64{100, 101.6} {
					if math.Abs(b.Max[0]-b.Min[0]-side) < 0.01 && math.Abs(b.Max[1]-b.Min[1]-side) < 0.01 {
						squares[side]++
					}
				}
			}
		}
		if squares[100] != 1 || squares[101.6] != 1 {
			t.Errorf("%s: the test squares are %v", name, squares)
		}
		said := strings.Join(strings.Fields(string(tool(t, "pdftotext", "-f", "1", "-l", "1", file, "-"))), " ")
		for _, want := range []string{"Print at 100 %", "Measure both sides of both squares", "Less than 99.5 mm or more than 100.5 mm: do not tape", "100 mm", "4 in", "Map of the sheets",
			"front: cut 1 on the fold", "armhole binding: cut 2"} {
			if !strings.Contains(said, want) {
				t.Errorf("%s: the first sheet does not say %q: %s", name, want, said)
			}
		}
		if strings.HasPrefix(name, "a4") || strings.HasPrefix(name, "letter") {
			ink := [2]float64{190, 253}
			if strings.Contains(name, "landscape") {
				ink[0], ink[1] = ink[1], ink[0]
			}
			allowed := orb.Bound{Min: orb.Point{(paper.Width-ink[0])/2 - 0.4, (paper.Height-ink[1])/2 - 0.4}}
			allowed.Max = orb.Point{paper.Width - allowed.Min[0], paper.Height - allowed.Min[1]}
			for n := 1; n <= book.Sheets+1; n++ {
				s := sheetRead{lines: map[int][]geom.Path{}}
				s.read(t, tool(t, "pdftocairo", "-svg", "-noshrink", "-nocenter", "-f", fmt.Sprint(n), "-l", fmt.Sprint(n), file, "-"))
				for _, lines := range s.lines {
					for _, p := range lines {
						if b := p.Bound(); !allowed.Contains(b.Min) || !allowed.Contains(b.Max) {
							t.Fatalf("%s, page %d: ink from %v to %v", name, n, b.Min, b.Max)
						}
					}
				}
			}
		}
		if _, err := exec.LookPath("pdffonts"); err == nil {
			for i, line := range strings.Split(strings.TrimSpace(string(tool(t, "pdffonts", file))), "\n") {
				if f := strings.Fields(line); i > 1 && f[len(f)-5] != "yes" {
					t.Errorf("%s: a font is not embedded: %s", name, line)
				}
			}
			info := string(tool(t, "pdfinfo", file))
			if !strings.Contains(info, "Ferry-hand's smock, for A") || strings.Contains(info, "2000") {
				t.Errorf("%s: %s", name, info)
			}
		}
		if last := book.PDF[bytes.LastIndex(book.PDF, []byte("/Type /Catalog")):]; !bytes.Contains(last, []byte("/PrintScaling /None")) || !bytes.Contains(last, []byte("/Lang (en)")) {
			t.Errorf("%s: the catalog in force lets a viewer scale, or has no language: %s", name, last)
		}
	}
}

// TestLongRoll: what is longer than a page may be is divided, no piece cut, and read back the same.
func TestLongRoll(t *testing.T) {
	needsPoppler(t)
	m := New(Sample())
	r := Request{Name: "ferry-smock.yaml", Source: samples.Read("ferry-smock.yaml"), Ticket: []byte("copies: 8\n")}
	set, _, err := m.sheetSet(t.Context(), []Request{r}, SheetWish{EveryCopy: true})
	if err != nil {
		t.Fatal(err)
	}
	paper, err := sheets.ParsePaper("36in roll", -1)
	if err != nil {
		t.Fatal(err)
	}
	book, err := sheets.Make(set, sheets.Options{Paper: paper, Overlap: sheets.Overlap, Lay: lay.Rows})
	if err != nil {
		t.Fatal(err)
	}
	if book.Sheets < 2 || len(book.Divided) > 0 {
		t.Errorf("%d pages, %d pieces are cut", book.Sheets, len(book.Divided))
	}
	if err := readsBack(t, book, set.Ready); err != nil {
		t.Error(err)
	}
	boxes := regexp.MustCompile(`/MediaBox \[0 0 [\d.]+ ([\d.]+)\]`).FindAllSubmatch(book.PDF, -1)
	if len(boxes) < book.Sheets {
		t.Errorf("%d pages have a size of their own", len(boxes))
	}
	for _, box := range boxes {
		if long := number(t, string(box[1])); long > 14400 {
			t.Errorf("a page is %v units long", long)
		}
	}
	if bytes.Contains(book.PDF, []byte("UserUnit")) {
		t.Error("the file has a user unit")
	}
}

// TestDividedPiecesAreNamed: the pieces that no sheet holds are named with their sheets on the first sheet, on the terminal
// and in a job's notes, and no other is; a paper that holds all names none.
func TestDividedPiecesAreNamed(t *testing.T) {
	needsPoppler(t)
	m := New(Sample())
	set, _, err := m.sheetSet(t.Context(), []Request{{Name: "ferry-smock.yaml", Source: samples.Read("ferry-smock.yaml")}}, SheetWish{})
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"a4", "a0"} {
		paper, err := sheets.ParsePaper(name, -1)
		if err != nil {
			t.Fatal(err)
		}
		book, err := sheets.Make(set, sheets.Options{Paper: paper, Overlap: sheets.Overlap, Lay: lay.Rows})
		if err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(t.TempDir(), "x.pdf")
		if err := os.WriteFile(file, book.PDF, 0o600); err != nil {
			t.Fatal(err)
		}
		first := strings.Join(strings.Fields(string(tool(t, "pdftotext", "-f", "1", "-l", "1", file, "-"))), " ")
		said, told := book.Said("x.pdf", false), strings.Join(book.Told(1, false), "; ")
		holds := map[string]bool{"front": false, "back": false, "neck binding": false, "armhole binding": false, "pocket": true, "slit facing": true, "loop": true}
		for _, p := range book.Placed {
			r := set.Ready[p.Ready]
			on := strings.Join(p.On, " ")
			for where, text := range map[string]string{"the terminal": said, "the job": told} {
				if got, want := strings.Contains(text, r.Name+" ("+on+")"), name == "a4" && !holds[r.Name]; got != want {
					t.Errorf("%s on %s, sheets %s: %s says %q", r.Name, name, on, where, text)
				}
			}
			if got, want := strings.Contains(first, "taped from "+on), name == "a4" && !holds[r.Name]; got != want {
				t.Errorf("%s on %s, sheets %s: the first sheet says %q", r.Name, name, on, first)
			}
		}
	}
}

// TestSheetsHangTogether: the sheets of a rectangle, whatever its size, are joined side to side, none only at a corner, and
// no row or column is begun for a line that stands on the one before.
func TestSheetsHangTogether(t *testing.T) {
	m := New(Sample())
	paper, err := sheets.ParsePaper("a4", -1)
	if err != nil {
		t.Fatal(err)
	}
	for _, size := range [][2]int{{702, 810}, {360, 470}, {530, 700}, {900, 300}, {1050, 930}} {
		source := fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" width="1200mm" height="1200mm" viewBox="0 0 1200 1200"><g id="panel"><path id="cut" d="M10 10h%dv%dh-%dZ"/></g></svg>`, size[0], size[1], size[0])
		book, _, err := m.Sheets(t.Context(), []Request{{Name: "panel.svg", Source: []byte(source)}}, SheetWish{Paper: paper, Overlap: sheets.Overlap})
		if err != nil {
			t.Fatal(err)
		}
		on := book.Placed[0].On
		reached := map[string]bool{on[0]: true}
		for range on {
			for _, a := range on {
				for _, b := range on {
					rows, columns := int(a[0])-int(b[0]), number(t, a[1:])-number(t, b[1:])
					if reached[a] && math.Abs(float64(rows))+math.Abs(columns) == 1 {
						reached[b] = true
					}
				}
			}
		}
		if len(reached) != len(on) {
			t.Errorf("%v: of the sheets %v only %v hang together", size, on, reached)
		}
		long, short := float64(max(size[0], size[1])), float64(min(size[0], size[1]))
		places := func(w, h float64) int { return int(math.Ceil((w-10+2)/176) * math.Ceil((h-10+2)/232)) }
		if most := max(places(long, short), places(short, long)); book.Rows*book.Columns > most {
			t.Errorf("%v: %d rows and %d columns, more than the %d places that it takes", size, book.Rows, book.Columns, most)
		}
	}
}

// TestFirstSheetOfTwoGarments: each garment's pieces stand under its name, as poppler reads the list; of one garment, also
// for two bodies, no name stands over them.
func TestFirstSheetOfTwoGarments(t *testing.T) {
	needsPoppler(t)
	m := New(Sample())
	smock := Request{Name: "ferry-smock.yaml", Source: samples.Read("ferry-smock.yaml")}
	roll := Request{Name: "tool-roll.yaml", Source: samples.Read("tool-roll.yaml")}
	list := func(rs ...Request) string {
		set, _, err := m.sheetSet(t.Context(), rs, SheetWish{})
		if err != nil {
			t.Fatal(err)
		}
		paper, err := sheets.ParsePaper("a4", -1)
		if err != nil {
			t.Fatal(err)
		}
		book, err := sheets.Make(set, sheets.Options{Paper: paper, Overlap: sheets.Overlap, Lay: lay.Rows})
		if err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(t.TempDir(), "x.pdf")
		if err := os.WriteFile(file, book.PDF, 0o600); err != nil {
			t.Fatal(err)
		}
		said := strings.Join(strings.Fields(string(tool(t, "pdftotext", "-raw", "-f", "1", "-l", "1", file, "-"))), " ")
		_, said, _ = strings.Cut(said, "Pieces to cut")
		said, _, _ = strings.Cut(said, "Cloth to buy")
		return said
	}
	both := list(smock, roll)
	last := -1
	for _, want := range []string{"Ferry-hand's smock", "front", "pocket", "Prop-bench tool roll", "hanging loop"} {
		at := strings.Index(both, want)
		if at < last || at < 0 {
			t.Errorf("%q stands at %d of: %s", want, at, both)
		}
		last = at
	}
	if one := list(ForBodies(smock, "A,B")...); strings.Contains(one, "Ferry-hand's smock") {
		t.Errorf("one garment: %s", one)
	}
}
