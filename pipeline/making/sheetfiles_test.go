package making

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/config/samples"
	"tracewheel/geom"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/sheets"
)

func BenchmarkSheets(b *testing.B) {
	m := New(Sample())
	paper, err := sheets.ParsePaper("a4", -1)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		book, _, err := m.Sheets(b.Context(), []Request{{Name: "ferry-smock.yaml", Source: samples.Read("ferry-smock.yaml")}}, SheetWish{Paper: paper, Overlap: sheets.Overlap})
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(len(book.PDF)), "bytes")
		b.ReportMetric(float64(book.Sheets), "sheets")
	}
}

// offMost is how far what is read back from the sheets may lie from the cut-ready outline, mm: poppler writes places to
// 1/256 pt, and the sheets say their steps to a tenth of a mm, which they are.
const offMost = 0.05

// cutPen is the pen of cut lines on paper, in hundredths of a mm.
const cutPen = 60

// TestSheetsReadBack: poppler reads the sheets, they are put together by the names on them, and every cut line lies
// where it was prepared, once on each sheet that reaches there, the right hand up.
func TestSheetsReadBack(t *testing.T) {
	needsPoppler(t)
	papers := []string{"a4", "a4 landscape", "letter", "letter landscape", "legal", "a3", "a3 landscape", "a0", "a0 landscape", "36in roll", "500x700", "24x36in"}
	m := New(Sample())
	n := 0
	for i, r := range allDrafts(t) {
		jacket := filepath.Base(r.Name) == "lamplighter-jacket.yaml"
		if fewer() && i%5 != 0 && !jacket {
			continue
		}
		on := []string{papers[i%len(papers)], "a4"}
		if jacket {
			on = papers
		}
		for _, name := range slices.Compact(on) {
			paper, err := sheets.ParsePaper(name, -1)
			if err != nil {
				t.Fatal(err)
			}
			wish := SheetWish{Paper: paper, Overlap: sheets.Overlap, EveryCopy: i%2 == 0}
			set, _, err := m.sheetSet(t.Context(), []Request{r}, wish)
			if errors.Is(err, ErrRefused) && toBeRefused(r) {
				break
			} else if err != nil {
				t.Errorf("%s on %s: %v", r.Name, name, err)
				continue
			}
			book, err := sheets.Make(set, sheets.Options{Paper: paper, Overlap: sheets.Overlap, Lay: lay.Rows})
			if err != nil {
				t.Errorf("%s on %s: %v", r.Name, name, err)
				continue
			}
			n++
			if err := readsBack(t, book, set.Ready); err != nil {
				t.Errorf("%s on %s: %v", r.Name, name, err)
			}
		}
	}
	if !fewer() && n < 40 {
		t.Fatalf("only %d books were read", n)
	}
}

// fewer tells to take one draft of five where all would take minutes. The whole CI sets
// TRACEWHEEL_ALL.
func fewer() bool { return os.Getenv("TRACEWHEEL_ALL") == "" }

// toBeRefused tells a draft that is there to be refused.
func toBeRefused(r Request) bool {
	return strings.Contains(r.Name, "strange") || r.Name == "usher-waistcoat.svg"
}

// allDrafts are the samples and the drafts of testdata.
func allDrafts(t testing.TB) []Request {
	t.Helper()
	var out []Request
	entries, err := fs.ReadDir(samples.Drafts(), ".")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		out = append(out, Request{Name: e.Name(), Source: samples.Read(e.Name())})
	}
	for _, glob := range []string{"*/*.svg", "*/*.dxf"} {
		files, err := filepath.Glob(filepath.Join("..", "..", "testdata", glob))
		if err != nil || len(files) == 0 {
			t.Fatal("no drafts in testdata", err)
		}
		for _, f := range files {
			data, err := os.ReadFile(f)
			if err != nil {
				t.Fatal(err)
			}
			wide := "10mm"
			if strings.HasPrefix(filepath.Base(f), "inserts") { // its notches are enlarged with their block
				wide = "30mm"
			}
			out = append(out, Request{Name: f, Source: data, Answers: map[string]string{"allowance": wide}})
		}
	}
	return out
}

// readsBack reads a book by poppler and compares it with the pieces.
func readsBack(t testing.TB, book *sheets.Book, ready []pattern.Ready) error {
	t.Helper()
	return readsBackPrinted(t, book, ready, func(p orb.Point) orb.Point { return p })
}

// readsBackPrinted is readsBack of what a printer puts on paper.
func readsBackPrinted(t testing.TB, book *sheets.Book, ready []pattern.Ready, print func(orb.Point) orb.Point) error {
	t.Helper()
	stepX, stepY, read := readBook(t, book.PDF, print)
	if len(read) != book.Sheets {
		return fmt.Errorf("%d sheets read, %d made", len(read), book.Sheets)
	}
	var want []geom.Path
	var of []int // the place of each
	for i, p := range book.Placed {
		if d := p.Map.Det(); math.Abs(d-1) > 1e-9 {
			return fmt.Errorf("%s is turned over or of another size: determinant %g", ready[p.Ready].Name, d)
		}
		if len(p.On) == 0 {
			return fmt.Errorf("%s lies on no sheet", ready[p.Ready].Name)
		}
		for _, line := range ready[p.Ready].CutLines() {
			want, of = append(want, line.Apply(p.Map)), append(of, i)
		}
	}
	if len(book.Placed) != len(ready) {
		return fmt.Errorf("%d of %d pieces were placed", len(book.Placed), len(ready))
	}
	wanted := geom.NewIndex(want...)
	found := map[string]*geom.Index{}
	frames := map[string]orb.Bound{}
	drawn := map[string]float64{} // length of cut lines on each sheet
	for _, s := range read {
		to, err := s.place(stepX, stepY)
		if err != nil {
			return err
		}
		if found[s.name] != nil || frames[s.name] != (orb.Bound{}) {
			return fmt.Errorf("two sheets are called %s", s.name)
		}
		frames[s.name] = orb.Bound{Min: to.Apply(s.frame.Min), Max: to.Apply(s.frame.Max)}
		var lines []geom.Path
		for _, p := range s.lines[cutPen] {
			p = p.Apply(to)
			lines = append(lines, p)
			ruler := p.Ruler()
			looks := int(ruler.Length()/0.5) + 1
			for k := range looks { // what runs along the frame itself belongs to either side
				if at, _ := ruler.At(ruler.Length() * (float64(k) + 0.5) / float64(looks)); inset(frames[s.name], 0.1).Contains(at) {
					drawn[s.name] += ruler.Length() / float64(looks)
				}
			}
			for _, at := range p.Points {
				if _, near := wanted.Nearest(at); near.Dist > offMost {
					return fmt.Errorf("sheet %s has a cut line %.3f mm off, at %.2f %.2f", s.name, near.Dist, at[0], at[1])
				}
			}
		}
		if len(lines) > 0 {
			found[s.name] = geom.NewIndex(lines...)
		}
	}
	meant := map[string]float64{}
	for i, line := range want {
		p, ruler := book.Placed[of[i]], line.Ruler()
		const step = 2.0
		looks := int(ruler.Length()/step) + 1
		for k := range looks {
			at, _ := ruler.At(ruler.Length() * float64(k) / float64(looks))
			shown := 0
			for _, name := range p.On {
				f := frames[name]
				in := inset(f, 0.1).Contains(at)
				if in {
					meant[name] += ruler.Length() / float64(looks)
				}
				near := math.Inf(1)
				if found[name] != nil {
					_, n := found[name].Nearest(at)
					near = n.Dist
				}
				if in && near > offMost {
					return fmt.Errorf("the cut line of %s is missing on %s, at %.2f %.2f (%.2f mm off)", ready[p.Ready].Name, name, at[0], at[1], near)
				}
				if near <= offMost {
					shown++
				}
			}
			if shown == 0 {
				return fmt.Errorf("the cut line of %s is on no sheet at %.2f %.2f", ready[p.Ready].Name, at[0], at[1])
			}
		}
	}
	for name, long := range drawn { // each line once: the lengths agree, but for what a step more or less at each frame's edge makes
		if math.Abs(long-meant[name]) > 20+0.01*long {
			return fmt.Errorf("sheet %s has %.0f mm of cut lines instead of %.0f", name, long, meant[name])
		}
	}
	return nil
}

func inset(b orb.Bound, by float64) orb.Bound {
	return orb.Bound{Min: orb.Point{b.Min[0] + by, b.Min[1] + by}, Max: orb.Point{b.Max[0] - by, b.Max[1] - by}}
}

// TestSheetsAreFew: the smock on A4 takes no more sheets than the area of its lay needs, and 15 % more. The lay is
// the shortest that the lay's code finds on strips of whole sheets; what a sheet adds is its frame without the strip that it
// shares.
func TestSheetsAreFew(t *testing.T) {
	m := New(Sample())
	paper, err := sheets.ParsePaper("a4", -1)
	if err != nil {
		t.Fatal(err)
	}
	r := Request{Name: "ferry-smock.yaml", Source: samples.Read("ferry-smock.yaml")}
	for _, every := range []bool{false, true} {
		wish := SheetWish{Paper: paper, Overlap: sheets.Overlap, EveryCopy: every}
		set, _, err := m.sheetSet(t.Context(), []Request{r}, wish)
		if err != nil {
			t.Fatal(err)
		}
		book, _, err := m.Sheets(t.Context(), []Request{r}, wish)
		if err != nil {
			t.Fatal(err)
		}
		const wide, high = 176.0, 232.0 // 190 by 253 mm of ink, 4 and 11 beside the frame, 10 shared
		least := math.Inf(1)
		for n := 2; n < 9; n++ {
			for _, side := range []float64{wide, high} {
				l, found := lay.Rows(set.Ready, pattern.Material{Name: "paper", Width: float64(n) * side, Gap: 5})
				if pattern.Worst(found) != pattern.Error {
					least = min(least, l.Material.Width*l.LengthUsed)
				}
			}
		}
		most := int(math.Ceil(1.15 * least / (wide * high)))
		t.Logf("every copy %v: %d sheets, the lay is %.2f m2, which needs %.1f", every, book.Sheets, least/1e6, least/(wide*high))
		if book.Sheets > most {
			t.Errorf("%d sheets; the lay's area and 15 %% need %d", book.Sheets, most)
		}
		if len(book.PDF) > 500_000 {
			t.Errorf("the file has %d bytes", len(book.PDF))
		}
	}
}

// TestSheetsWhole: a piece that fits on one sheet is not cut.
func TestSheetsWhole(t *testing.T) {
	m := New(Sample())
	paper, err := sheets.ParsePaper("a4", -1)
	if err != nil {
		t.Fatal(err)
	}
	whole := 0
	for i, r := range allDrafts(t) {
		if fewer() && i%5 != 0 {
			continue
		}
		set, _, err := m.sheetSet(t.Context(), []Request{r}, SheetWish{})
		if errors.Is(err, ErrRefused) && toBeRefused(r) {
			continue
		} else if err != nil {
			t.Errorf("%s: %v", r.Name, err)
			continue
		}
		book, err := sheets.Make(set, sheets.Options{Paper: paper, Overlap: sheets.Overlap, Lay: lay.Rows})
		if err != nil {
			t.Fatal(r.Name, err)
		}
		for _, p := range book.Placed {
			piece := &set.Ready[p.Ready]
			b := piece.Outline.Bound() // its letters may reach further
			w, h := b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]
			if min(w, h) > 180 || max(w, h) > 230 {
				continue
			}
			b = piece.Outline.Apply(p.Map).Bound()
			name := p.On[0]
			col, row := float64(name[1]-'1'), float64(name[0]-'A')
			if len(name) > 2 {
				continue
			}
			whole++
			frame := orb.Bound{Min: orb.Point{col * 176, -row*232 - 242}, Max: orb.Point{col*176 + 186, -row * 232}}
			if !frame.Contains(b.Min) || !frame.Contains(b.Max) {
				t.Errorf("%s: %s (%.0f by %.0f mm) is not whole on %s", r.Name, piece.Name, w, h, name)
			}
		}
	}
	if whole < 20 && !fewer() || whole < 4 {
		t.Fatalf("only %d small pieces", whole)
	}
}
