package making

import (
	"bytes"
	"context"
	"encoding/xml"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/config/samples"
	"tracewheel/pipeline/cloths"
	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/lay"
	"tracewheel/pipeline/sheets"
)

// TestFirstSheetBuysAsLay: what the first sheet says is to be bought of each cloth is what lay's first lay says, for every
// starter sample, in both units.
func TestFirstSheetBuysAsLay(t *testing.T) {
	for _, unit := range []string{"cm", "in"} {
		room := Sample()
		room.Units = unit
		m := New(room)
		n := 0
		for _, r := range allDrafts(t) {
			if strings.Contains(r.Name, "testdata") || (unit == "in" || fewer()) && n > 8 {
				continue
			}
			set, _, err := m.sheetSet(t.Context(), []Request{r}, SheetWish{})
			if err != nil && toBeRefused(r) {
				continue
			} else if err != nil {
				t.Fatal(r.Name, err)
			}
			l, err := m.LayFiles(t.Context(), []Request{r}, cloths.Wish{})
			if err != nil { // nobody says how wide its cloth lies
				l, err = m.LayFiles(t.Context(), []Request{r}, cloths.Wish{Width: 1500})
			}
			if err != nil {
				t.Fatal(r.Name, err)
			}
			var b strings.Builder
			l.WriteText(&b)
			said := strings.Join(set.Cloth, "\n")
			for _, c := range l.Cloths {
				if c.Lay.LengthUsed <= 0 || len(c.Others) == 0 {
					t.Errorf("%s: nothing is laid of %s", r.Name, c.Name)
				}
			}
			for line := range strings.Lines(b.String()) {
				kind, words, _ := strings.Cut(strings.TrimSpace(line), "  ")
				words = strings.TrimSpace(words)
				if kind == "or" {
					words = "or " + words
				}
				if kind == "or" || strings.HasPrefix(line, "  to buy") {
					n++
					if !strings.Contains(said, words) {
						t.Errorf("%s: lay says %q, the first sheet:\n%s", r.Name, words, said)
					}
				}
			}
			if want := 2 * len(l.Cloths); len(set.Cloth) != want {
				t.Errorf("%s: %d lines instead of %d: %s", r.Name, len(set.Cloth), want, said)
			}
		}
		if n < 8 {
			t.Fatalf("only %d lines were compared", n)
		}
	}
}

// TestFirstSheetOfChosenPieces: where a job is made again of some of its pieces, no cloth for the whole garment is told; of
// the other drafts it is.
func TestFirstSheetOfChosenPieces(t *testing.T) {
	whole := Request{Name: "ferry-smock.yaml", Source: samples.Read("ferry-smock.yaml")}
	one := whole
	one.Answers = map[string]string{answers.Pieces: "2"}
	for _, c := range []struct {
		of    []Request
		cloth bool
	}{{[]Request{whole}, true}, {[]Request{one}, false}, {[]Request{one, whole}, true}} {
		set, _, err := New(Sample()).sheetSet(t.Context(), c.of, SheetWish{})
		if err != nil || len(set.Cloth) > 0 != c.cloth {
			t.Errorf("of %d drafts the cloth is %q, %v", len(c.of), set.Cloth, err)
		}
	}
}

// TestMapIsRead: on the first sheet's map, as poppler reads it, no two words lie on one another, every piece is named, and
// the map takes most of the sheet's height where there are many rows.
func TestMapIsRead(t *testing.T) {
	needsPoppler(t)
	m := New(Sample())
	for i, r := range allDrafts(t) {
		if strings.Contains(r.Name, "testdata") || fewer() && i%5 != 0 {
			continue
		}
		set, _, err := m.sheetSet(t.Context(), []Request{r}, SheetWish{})
		if err != nil && toBeRefused(r) {
			continue
		} else if err != nil {
			t.Fatal(r.Name, err)
		}
		name := []string{"a4", "letter", "a4 landscape"}[i%3]
		paper, err := sheets.ParsePaper(name, -1)
		if err != nil {
			t.Fatal(err)
		}
		book, err := sheets.Make(set, sheets.Options{Paper: paper, Overlap: sheets.Overlap, Lay: lay.Rows})
		if err != nil {
			t.Fatal(r.Name, err)
		}
		file := filepath.Join(t.TempDir(), "x.pdf")
		if err := os.WriteFile(file, book.PDF, 0o600); err != nil {
			t.Fatal(err)
		}
		var read words
		if err := xml.Unmarshal(tool(t, "pdftotext", "-bbox", "-f", "1", "-l", "1", file, "-"), &read); err != nil {
			t.Fatal(err)
		}
		const pt = 72 / 25.4
		var on []orb.Bound
		var texts []string
		for _, w := range read.Pages[0].Words {
			b := orb.Bound{Min: orb.Point{w.XMin / pt, w.YMin / pt}, Max: orb.Point{w.XMax / pt, w.YMax / pt}}
			inMap := b.Min[0] > paper.Left+4*25.4+3 && b.Min[1] > paper.Top+13
			if paper.Width > paper.Height {
				inMap = b.Min[1] > paper.Top+13+4*25.4+3
			}
			if inMap && b.Max[0]-b.Min[0] > 0.2 {
				on, texts = append(on, b), append(texts, w.Text)
			}
		}
		said := strings.Join(texts, " ")
		for _, p := range set.Pieces {
			for _, word := range strings.Fields(p.Name) {
				if !strings.Contains(said, word) {
					t.Errorf("%s on %s: the map does not name %s: %s", r.Name, name, p.Name, said)
				}
			}
		}
		for k := range on {
			for j := range k {
				// A font's box is higher than its letters by about a third.
				a, b := on[k].Pad(-0.25), on[j].Pad(-0.25)
				if a.Intersects(b) {
					t.Errorf("%s on %s: %q lies on %q", r.Name, name, texts[k], texts[j])
				}
			}
		}
		if book.Rows >= 2*book.Columns && book.Rows > 4 && name != "a4 landscape" {
			all := on[0]
			for _, b := range on {
				all = all.Union(b)
			}
			if high := all.Max[1] - all.Min[1]; high < 150 {
				t.Errorf("%s on %s: the map of %d rows is only %.0f mm high", r.Name, name, book.Rows, high)
			}
		}
	}
}

// TestFirstSheetOfSeveralBodies: the cloth of each body stands on the first sheet, as lay says it of that body alone, with
// whose it is.
func TestFirstSheetOfSeveralBodies(t *testing.T) {
	m := New(Sample())
	var rs []Request
	for _, body := range []string{"A", "B"} {
		rs = append(rs, Request{Name: "ferry-smock.yaml", Source: samples.Read("ferry-smock.yaml"), Answers: map[string]string{"body": body}})
	}
	set, _, err := m.sheetSet(t.Context(), rs, SheetWish{})
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for i, whose := range []string{"for A", "for B"} {
		l, err := m.LayFiles(t.Context(), rs[i:i+1], cloths.Wish{Width: cloths.UsualWidth})
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range l.Cloths {
			n++
			bought := lay.Bought(c.ToBuy(), l.Unit)
			if !slices.ContainsFunc(set.Cloth, func(s string) bool {
				return strings.Contains(s, whose+": "+c.Name) && strings.Contains(s, " wide: "+bought+" (")
			}) {
				t.Errorf("%s of %s is not told %s: %q", bought, c.Name, whose, set.Cloth)
			}
		}
	}
	if len(set.Cloth) != n || n < 2 {
		t.Errorf("%d lines for %d cloths: %q", len(set.Cloth), n, set.Cloth)
	}
}

// TestFirstSheetOfAKeptLay: where a lay is kept for a draft, the first sheet and the chalking list, also as PDF, tell that
// one. The trousers' first lay takes more than the kept one.
func TestFirstSheetOfAKeptLay(t *testing.T) {
	m := New(Sample())
	r := Request{Name: "trousers.yaml", Source: samples.Read("trousers.yaml")}
	first, err := m.LayFiles(t.Context(), []Request{r}, cloths.Wish{Unsaid: cloths.UsualWidth, Alone: true})
	if err != nil {
		t.Fatal(err)
	}
	kept, err := m.LayFiles(t.Context(), []Request{r}, cloths.Wish{Unsaid: cloths.UsualWidth, Alone: true, Steps: 300, Seed: 1})
	if err != nil || kept.Cloths[0].ToBuy() >= first.Cloths[0].ToBuy() {
		t.Fatal(err, "the lay that was sought is no shorter than the first")
	}
	m.Kept = func(context.Context, Request) (*cloths.Layout, error) { return kept, nil }
	bought := lay.Bought(kept.Cloths[0].ToBuy(), kept.Unit)
	set, _, err := m.sheetSet(t.Context(), []Request{r}, SheetWish{})
	if err != nil || len(set.Cloth) != 1 || !strings.Contains(set.Cloth[0], " wide: "+bought+" (") {
		t.Errorf("the first sheet tells %q, %v; kept is %s", set.Cloth, err, bought)
	}
	for _, form := range []string{"text", "html"} {
		var b bytes.Buffer
		if _, err := m.Figures(t.Context(), &b, r, cloths.Wish{}, form); err != nil || !strings.Contains(b.String(), "to buy "+bought) {
			t.Errorf("%s: %v: it does not tell %s", form, err, bought)
		}
	}
}
