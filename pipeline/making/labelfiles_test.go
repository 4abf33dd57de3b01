package making

import (
	"encoding/xml"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/config"
	"tracewheel/config/samples"
	"tracewheel/devices"
	"tracewheel/geom"
	"tracewheel/pipeline/control/answers"
	"tracewheel/pipeline/labels"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/places"
)

// grids are where labels lie on their sheets, measured by hand from what such sheets say of themselves (common practice), mm:
// columns, rows, width and height of a label, left and upper edge, from one label to the next.
var grids = map[string][8]float64{
	"3x8":                 {3, 8, 70, 37, 0, 0.5, 70, 37},
	"3x7":                 {3, 7, 63.5, 38.1, 7.25, 15.15, 66, 38.1},
	"letter 3x10":         {3, 10, 66.675, 25.4, 4.7625, 12.7, 69.85, 25.4},
	"4x12 of 45x21.2":     {4, 12, 45, 21.2, 15, 21.3, 45, 21.2},
	"letter 2x2 of 4x3in": {2, 2, 101.6, 76.2, 6.35, 63.5, 101.6, 76.2},
}

// wordsOf reads a PDF by poppler: the words of each page with their boxes, in mm, y down.
func wordsOf(t testing.TB, pdf []byte) (read words) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "x.pdf")
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := xml.Unmarshal(tool(t, "pdftotext", "-bbox", file, "-"), &read); err != nil {
		t.Fatal(err)
	}
	for i := range read.Pages {
		for k := range read.Pages[i].Words {
			w := &read.Pages[i].Words[k]
			w.XMin, w.XMax, w.YMin, w.YMax = w.XMin/72*25.4, w.XMax/72*25.4, w.YMin/72*25.4, w.YMax/72*25.4
		}
	}
	return read
}

// TestLabelsReadBack: poppler finds a label for every piece that is cut, in order, with its name, style, body, cloth and
// number, and no word outside of its label.
func TestLabelsReadBack(t *testing.T) {
	needsPoppler(t)
	m := New(Sample())
	for _, draft := range []string{"ferry-smock.yaml", "waistcoat.yaml", "leaf-crown.svg", "lamplighter-jacket.yaml"} {
		r := Request{Name: draft, Source: samples.Read(draft)}
		w, ready, err := m.cutReady(r, SheetWish{EveryCopy: true})
		if err != nil {
			t.Fatal(err)
		}
		cut := map[string]int{}
		for i := range ready {
			cut[ready[i].Name]++
		}
		for grid, g := range grids {
			const first = 3
			files, _, err := m.Labels(t.Context(), []Request{r}, labels.Flags{Out: "x.pdf", Grid: grid, First: first})
			if err != nil {
				t.Fatal(err)
			}
			each := int(g[0] * g[1])
			read := wordsOf(t, files[0].Data)
			if pages := (len(ready) + first - 1 + each - 1) / each; len(read.Pages) != pages {
				t.Errorf("%s on %s: %d pages instead of %d", draft, grid, len(read.Pages), pages)
			}
			said := map[int]string{}
			for page := range read.Pages {
				for _, word := range read.Pages[page].Words {
					mid := orb.Point{(word.XMin + word.XMax) / 2, (word.YMin + word.YMax) / 2}
					col, row := int((mid[0]-g[4])/g[6]), int((mid[1]-g[5])/g[7])
					x, y := g[4]+float64(col)*g[6], g[5]+float64(row)*g[7]
					if word.XMin < x || word.XMax > x+g[2] || word.YMin < y || word.YMax > y+g[3] {
						t.Errorf("%s on %s: %q from %.1f %.1f to %.1f %.1f lies outside of its label", draft, grid, word.Text, word.XMin, word.YMin, word.XMax, word.YMax)
					}
					n := page*each + row*int(g[0]) + col
					said[n] += word.Text + " "
				}
			}
			found := map[string]int{}
			for k := range ready {
				text := said[k+first-1]
				if !strings.Contains(text, fmt.Sprintf("piece %d of %d ", k+1, len(ready))) {
					t.Errorf("%s on %s: label %d says %q", draft, grid, k, text)
				}
				for name := range cut {
					if strings.HasPrefix(text, name+" "+w.Pattern.Called()) {
						found[name]++
					}
				}
				if whose := w.Pattern.Whose(ready[0].Size); !strings.Contains(text, whose) || !strings.Contains(text, " of ") || !strings.Contains(text, "cut ") {
					t.Errorf("%s on %s: label %d says %q", draft, grid, k, text)
				}
			}
			for name, n := range cut {
				if found[name] != n {
					t.Errorf("%s on %s: %d labels for %s, which is cut %d times", draft, grid, found[name], name, n)
				}
			}
			if len(said) != len(ready) {
				t.Errorf("%s on %s: %d labels for %d pieces", draft, grid, len(said), len(ready))
			}
		}
	}
}

// TestLabelsOnRoll: on a roll each label is a page of its size.
func TestLabelsOnRoll(t *testing.T) {
	needsPoppler(t)
	r := Request{Name: "ferry-smock.yaml", Source: samples.Read("ferry-smock.yaml")}
	files, _, err := New(Sample()).Labels(t.Context(), []Request{r}, labels.Flags{Out: "x.pdf", Roll: "62x29", First: 1})
	if err != nil {
		t.Fatal(err)
	}
	read := wordsOf(t, files[0].Data)
	if len(read.Pages) != 9 { // front, back, pocket, slit facing, neck binding, two armhole bindings, two loops
		t.Errorf("%d pages", len(read.Pages))
	}
	for i, p := range read.Pages {
		for _, w := range p.Words {
			if w.XMin < 0 || w.YMin < 0 || w.XMax > 62 || w.YMax > 29 {
				t.Errorf("page %d: %q lies outside", i+1, w.Text)
			}
		}
	}
	if boxes := regexp.MustCompile(`/MediaBox \[0 0 175\.75 82\.20\]`).FindAll(files[0].Data, -1); len(boxes) < 8 {
		t.Errorf("%d pages of 62 by 29 mm", len(boxes))
	}
}

// TestPiecesCard: each piece stands once on the card, under its cloth, with a box for each time that it is cut.
func TestPiecesCard(t *testing.T) {
	needsPoppler(t)
	m := New(Sample())
	for _, draft := range []string{"ferry-smock.yaml", "waistcoat.yaml", "leaf-crown.svg", "trousers.yaml"} {
		r := Request{Name: draft, Source: samples.Read(draft)}
		w, ready, err := m.cutReady(r, SheetWish{EveryCopy: true})
		if err != nil {
			t.Fatal(err)
		}
		for _, paper := range []string{"a4", "letter"} {
			files, _, err := m.Labels(t.Context(), []Request{r}, labels.Flags{Card: "x.pdf", Paper: paper})
			if err != nil {
				t.Fatal(err)
			}
			file := filepath.Join(t.TempDir(), "x.pdf")
			if err := os.WriteFile(file, files[0].Data, 0o600); err != nil {
				t.Fatal(err)
			}
			text := string(tool(t, "pdftotext", "-layout", file, "-"))
			cloth, at := "", map[string]string{}
			for line := range strings.Lines(text) {
				line = strings.Join(strings.Fields(line), " ")
				if of, ok := strings.CutPrefix(line, "Of "); ok {
					cloth, _, _ = strings.Cut(of, ":")
				}
				for i := range ready {
					p := &ready[i]
					if strings.HasPrefix(line, p.Name+" cut ") && p.Copy == 1 {
						if at[p.Name] != "" {
							t.Errorf("%s: %s stands twice on the card", draft, p.Name)
						}
						at[p.Name] = cloth
						if want := listed(w.Pattern, p).Words; !strings.Contains(line, p.Name+" "+want) {
							t.Errorf("%s: %q instead of %q", draft, line, want)
						}
					}
				}
			}
			for i := range ready {
				said, _ := w.Pattern.ClothOf(ready[i].Material)
				if want := pattern.ClothName(ready[i].Material); at[ready[i].Name] != want && at[ready[i].Name] != said.Name {
					t.Errorf("%s: %s stands under %q, not under %q", draft, ready[i].Name, at[ready[i].Name], want)
				}
			}
			s := sheetRead{lines: map[int][]geom.Path{}}
			s.read(t, tool(t, "pdftocairo", "-svg", "-noshrink", "-nocenter", file, "-"))
			boxes := slices.DeleteFunc(s.lines[35], func(p geom.Path) bool { return !p.Closed })
			if len(boxes) != len(ready) {
				t.Errorf("%s: %d boxes for %d pieces", draft, len(boxes), len(ready))
			}
			for i := range boxes {
				for k := range i {
					if boxes[i].Bound().Intersects(boxes[k].Bound()) {
						t.Errorf("%s: two boxes overlap", draft)
					}
				}
			}
		}
	}
}

// TestLabelsAsCut: those for a cutter stand in the order in which the pieces of its program end.
func TestLabelsAsCut(t *testing.T) {
	m := New(Sample())
	r := Request{Name: "leaf-crown.svg", Source: samples.Read("leaf-crown.svg"), Device: "knife-table"}
	set, _, err := m.labelSet(t.Context(), []Request{r})
	if err != nil {
		t.Fatal(err)
	}
	w := made(t, m, r)
	var want []string
	for i := len(w.Program.Blocks) - 1; i >= 0; i-- {
		if k := w.Program.Blocks[i].Piece; k >= 0 {
			if name := fmt.Sprintf("%s %d", w.Ready[k].Name, w.Ready[k].Copy); !slices.Contains(want, name) {
				want = append(want, name)
			}
		}
	}
	slices.Reverse(want)
	var got []string
	for _, p := range set.Pieces {
		got = append(got, fmt.Sprintf("%s %d", p.Name, p.Copy))
	}
	if !slices.Equal(got, want) || len(want) < 5 {
		t.Errorf("labelled %q, cut %q", got, want)
	}
}

// TestLabelsNumberedAsPicture: the number on a job's label is the one that stands on the same piece in the lay's picture
// and that the program's list of pieces gives, whatever the order of the labels; a piece that is drawn once for all its
// copies has one number. Of a job of chosen pieces those alone are labelled.
func TestLabelsNumberedAsPicture(t *testing.T) {
	everyCopy := Sample()
	d := everyCopy.Devices["roll-plotter"]
	d.Patterns = devices.PatternsEveryCopy
	everyCopy.Devices["roll-plotter"] = d
	for _, c := range []struct {
		room                  *config.Workroom
		draft, device, pieces string
	}{
		{Sample(), "leaf-crown.svg", "knife-table", ""},
		{Sample(), "leaf-crown.svg", "knife-table", "2,4,5"},
		{Sample(), "ferry-smock.yaml", "roll-plotter", ""},
		{Sample(), "ferry-smock.yaml", "roll-plotter", "2,4"},
		{everyCopy, "ferry-smock.yaml", "roll-plotter", ""},
		{everyCopy, "ferry-smock.yaml", "roll-plotter", "2,5,9"},
	} {
		m := New(c.room)
		r := Request{Name: c.draft, Source: samples.Read(c.draft), Device: c.device, Job: 7, Answers: map[string]string{answers.Pieces: c.pieces}}
		name := fmt.Sprintf("%s on %s, pieces %q", c.draft, c.device, c.pieces)
		set, _, err := m.labelSet(t.Context(), []Request{r})
		if err != nil {
			t.Fatal(name, err)
		}
		w := made(t, m, r)
		if c.pieces != "" && len(w.Ready) != len(strings.Split(c.pieces, ",")) {
			t.Errorf("%s: %d pieces", name, len(w.Ready))
		}
		pictured := map[string]string{}
		for _, n := range w.view(w.Made).Words {
			for _, p := range w.Lay.Placements {
				if w.Ready[p.Ready].Outline.Apply(p.Map).Contains(orb.Point{n.At[0], n.At[1] + n.Height/2}) {
					pictured[n.Text] = fmt.Sprintf("%s %d", w.Ready[p.Ready].Name, w.Ready[p.Ready].Copy)
				}
			}
		}
		if len(pictured) != len(w.Ready) {
			t.Fatalf("%s: the picture numbers %d of %d pieces", name, len(pictured), len(w.Ready))
		}
		listed := map[int]string{}
		for _, p := range places.SpansOf(w.Program).Pieces(places.Far{Block: -1, Sure: -1, Sent: -1}) {
			listed[p.Number] = p.Name
		}
		labelled := map[string]bool{}
		for _, p := range set.Pieces {
			copied := p.Copy
			if w.Profile.Once() {
				copied = 1
			}
			no := fmt.Sprint(p.Number)
			if want := fmt.Sprintf("%s %d", p.Name, copied); pictured[no] != want || listed[p.Number] != p.Name {
				t.Errorf("%s: %s is labelled %d, which is %q in the picture and %q in the list", name, want, p.Number, pictured[no], listed[p.Number])
			}
			labelled[no] = true
		}
		if len(labelled) != len(w.Ready) || set.All != len(w.Ready) {
			t.Errorf("%s: %d numbers of %d on the labels, of %d pieces", name, len(labelled), set.All, len(w.Ready))
		}
	}
}

// TestLabelsNameTheCloth: where the draft names no cloth, a label names the one that the ticket does, else the one that
// lies on the machine; paper is none.
func TestLabelsNameTheCloth(t *testing.T) {
	room := Sample()
	knife := room.Devices["knife-table"]
	knife.Material = "calico"
	room.Devices["knife-table"] = knife
	for _, c := range []struct{ draft, device, ticket, want string }{
		{"leaf-crown.svg", "knife-table", "", "calico"},
		{"leaf-crown.svg", "knife-table", "material: card-sheet\n", "card-sheet"},
		{"bib-apron.yaml", "roll-plotter", "material: calico\n", "calico"},
		{"bib-apron.yaml", "", "material: calico\n", "calico"},
		{"bib-apron.yaml", "roll-plotter", "", "main"},
	} {
		r := Request{Name: c.draft, Source: samples.Read(c.draft), Device: c.device, Ticket: []byte(c.ticket), Job: 7}
		if c.device == "" {
			r.Job = 0 // a file
		}
		set, found, err := New(room).labelSet(t.Context(), []Request{r})
		if err != nil {
			t.Error(c.draft, c.device, c.ticket, err, found)
			continue
		}
		for _, p := range set.Pieces {
			if p.Cloth != c.want {
				t.Errorf("%s on %s, ticket %q: %s is of %q, not of %q", c.draft, c.device, c.ticket, p.Name, p.Cloth, c.want)
			}
		}
	}
}
