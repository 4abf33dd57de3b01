package making

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"tracewheel/config/samples"
	"tracewheel/devices/needs"
	"tracewheel/geom"
	"tracewheel/pipeline/sheets"
)

// sheetRead is a page as a reader from outside sees it: poppler draws it as SVG, which is parsed here.
type sheetRead struct {
	name  string
	frame orb.Bound // mm from the page's lower left corner, y up
	// lines are all stroked lines by the width of the pen in hundredths of a mm.
	lines map[int][]geom.Path
}

// needsPoppler skips where there is no reader from outside.
func needsPoppler(t testing.TB) {
	t.Helper()
	for _, tool := range []string{"pdftocairo", "pdftotext"} {
		needs.Program(t, "poppler-utils", tool)
	}
}

// words are the words of a page with their boxes, in points, y down.
type words struct {
	Pages []struct {
		Height float64 `xml:"height,attr"`
		Words  []struct {
			XMin float64 `xml:"xMin,attr"`
			XMax float64 `xml:"xMax,attr"`
			YMin float64 `xml:"yMin,attr"`
			YMax float64 `xml:"yMax,attr"`
			Text string  `xml:",chardata"`
		} `xml:"word"`
	} `xml:"body>doc>page"`
}

// readBook reads a PDF of sheets: how far the sheets lie apart, from the first page's words, and the others.
func readBook(t testing.TB, pdf []byte, print func(orb.Point) orb.Point) (stepX, stepY float64, sheets []sheetRead) {
	t.Helper()
	needsPoppler(t)
	dir := t.TempDir()
	file := filepath.Join(dir, "x.pdf")
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	var w words
	if err := xml.Unmarshal(tool(t, "pdftotext", "-bbox", file, "-"), &w); err != nil {
		t.Fatal(err)
	}
	var first []string
	for _, word := range w.Pages[0].Words {
		first = append(first, word.Text)
	}
	said := strings.Join(first, " ")
	if m := regexp.MustCompile(`([\d.]+) mm \([\d.]+ in\) from one sheet's left frame to the next`).FindStringSubmatch(said); m != nil {
		stepX = number(t, m[1])
	}
	if m := regexp.MustCompile(`([\d.]+) mm \([\d.]+ in\) from (?:one sheet's )?upper frame to`).FindStringSubmatch(said); m != nil {
		stepY = number(t, m[1])
	}
	if len(w.Pages) > 2 && stepX+stepY == 0 {
		t.Fatalf("the first sheet does not say how the others lie: %q", first)
	}
	name := regexp.MustCompile(`^[A-Z]+\d+$`)
	for n := 1; n < len(w.Pages); n++ {
		s := sheetRead{lines: map[int][]geom.Path{}}
		high := 0.0
		for _, word := range w.Pages[n].Words {
			if h := word.YMax - word.YMin; name.MatchString(word.Text) && h > high && word.XMax-word.XMin > h/2 {
				s.name, high = word.Text, h
			}
		}
		s.read(t, tool(t, "pdftocairo", "-svg", "-noshrink", "-nocenter", "-f", fmt.Sprint(n+1), "-l", fmt.Sprint(n+1), file, "-"))
		for _, lines := range s.lines {
			for _, p := range lines {
				for i := range p.Points {
					p.Points[i] = print(p.Points[i])
				}
			}
		}
		for _, p := range s.lines[18] {
			if b := p.Bound(); p.Closed && (s.frame == orb.Bound{} || area(b) > area(s.frame)) {
				s.frame = b
			}
		}
		sheets = append(sheets, s)
	}
	return stepX, stepY, sheets
}

func area(b orb.Bound) float64 { return (b.Max[0] - b.Min[0]) * (b.Max[1] - b.Min[1]) }

func tool(t testing.TB, name string, args ...string) []byte {
	t.Helper()
	cmd := exec.Command(name, args...)
	var errs bytes.Buffer
	cmd.Stderr = &errs
	out, err := cmd.Output()
	if err != nil || errs.Len() > 0 {
		t.Fatalf("%s: %v %s", name, err, errs.String())
	}
	return out
}

func number(t testing.TB, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// read takes the stroked paths of an SVG page.
func (s *sheetRead) read(t testing.TB, svg []byte) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(svg))
	maps := []geom.Affine{geom.Identity}
	hidden, pageHigh := 0, 0.0
	for {
		tok, err := d.Token()
		if err != nil {
			return
		}
		switch e := tok.(type) {
		case xml.StartElement:
			at := map[string]string{}
			for _, a := range e.Attr {
				at[a.Name.Local] = a.Value
			}
			for _, said := range strings.Split(at["style"], ";") { // older poppler says it so, newer by attributes
				if k, v, ok := strings.Cut(said, ":"); ok {
					at[strings.TrimSpace(k)] = strings.TrimSpace(v)
				}
			}
			if e.Name.Local == "svg" {
				pageHigh = number(t, strings.TrimSuffix(at["height"], "pt"))
			}
			m := maps[len(maps)-1].After(matrix(t, at["transform"]))
			maps = append(maps, m)
			if e.Name.Local == "defs" {
				hidden++
			}
			if e.Name.Local != "path" || hidden > 0 || at["stroke"] == "" || at["stroke"] == "none" {
				continue
			}
			pen := int(math.Round(number(t, at["stroke-width"]) * math.Sqrt(math.Abs(m.Det())) * 25.4 / 72 * 100))
			toPage := geom.Affine{A: 25.4 / 72, D: -25.4 / 72, F: pageHigh * 25.4 / 72}.After(m)
			for _, p := range pathOf(t, at["d"]) {
				s.lines[pen] = append(s.lines[pen], p.Apply(toPage))
			}
		case xml.EndElement:
			maps = maps[:len(maps)-1]
			if e.Name.Local == "defs" {
				hidden--
			}
		}
	}
}

func matrix(t testing.TB, s string) geom.Affine {
	t.Helper()
	if s == "" {
		return geom.Identity
	}
	in, ok := strings.CutPrefix(s, "matrix(")
	var v []float64
	for _, f := range strings.FieldsFunc(strings.TrimSuffix(in, ")"), func(r rune) bool { return r == ',' || r == ' ' }) {
		v = append(v, number(t, f))
	}
	if !ok || len(v) != 6 {
		t.Fatalf("a transform of another form: %s", s)
	}
	return geom.Affine{A: v[0], B: v[1], C: v[2], D: v[3], E: v[4], F: v[5]}
}

// pathOf reads path data of moves, lines and closings; poppler writes no others for what has no curves.
func pathOf(t testing.TB, d string) []geom.Path {
	t.Helper()
	var out []geom.Path
	f := strings.Fields(d)
	for i := 0; i < len(f); {
		switch f[i] {
		case "M":
			out = append(out, geom.Path{Points: []orb.Point{{number(t, f[i+1]), number(t, f[i+2])}}})
			i += 3
		case "L":
			p := &out[len(out)-1]
			p.Points = append(p.Points, orb.Point{number(t, f[i+1]), number(t, f[i+2])})
			i += 3
		case "Z":
			out[len(out)-1].Closed = true
			i++
		default:
			t.Fatalf("path data of another form: %s", f[i])
		}
	}
	var real []geom.Path
	for _, p := range out { // a closing is followed by a move to the same place
		if len(p.Points) > 1 {
			real = append(real, p)
		}
	}
	return real
}

// place is the map from a page to the plane on which the sheets lie side by side, by the name on the sheet: the row by
// letter, the column by number.
func (s *sheetRead) place(stepX, stepY float64) (geom.Affine, error) {
	i := strings.IndexFunc(s.name, func(r rune) bool { return r <= '9' })
	if i < 1 {
		return geom.Affine{}, fmt.Errorf("a sheet without a name: %q", s.name)
	}
	row := 0
	for _, r := range s.name[:i] {
		row = row*26 + int(r-'A') + 1
	}
	col, err := strconv.Atoi(s.name[i:])
	return geom.Translate(float64(col-1)*stepX-s.frame.Min[0], -float64(row-1)*stepY-s.frame.Max[1]), err
}

// sheetPictures draws by poppler the smock's first sheet, and a corner at which four of its sheets are joined: each is
// cut along its left and upper frame and laid on its neighbours. Both are nil where poppler is missing.
func sheetPictures(t *testing.T) (first, joined []byte) {
	t.Helper()
	if _, err := exec.LookPath("pdftoppm"); err != nil {
		return nil, nil
	}
	m := New(Sample())
	paper, err := sheets.ParsePaper("a4", -1)
	if err != nil {
		t.Fatal(err)
	}
	book, _, err := m.Sheets(t.Context(), []Request{{Name: "ferry-smock.yaml", Source: samples.Read("ferry-smock.yaml")}}, SheetWish{Paper: paper, Overlap: sheets.Overlap})
	if err != nil {
		t.Fatal(err)
	}
	stepX, stepY, read := readBook(t, book.PDF, func(p orb.Point) orb.Point { return p })
	const dpi = 72
	file := filepath.Join(t.TempDir(), "x.pdf")
	if err := os.WriteFile(file, book.PDF, 0o600); err != nil {
		t.Fatal(err)
	}
	page := func(n int) image.Image {
		img, err := png.Decode(bytes.NewReader(tool(t, "pdftoppm", "-png", "-r", fmt.Sprint(dpi), "-f", fmt.Sprint(n), "-l", fmt.Sprint(n), file)))
		if err != nil {
			t.Fatal(err)
		}
		return img
	}
	encoded := func(img image.Image) []byte {
		var b bytes.Buffer
		if err := png.Encode(&b, img); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	px := float64(dpi) / 25.4
	var corner orb.Point // upper left of what is shown, on the plane: where most cut lines meet the corner of a sheet
	most := -1.0
	for _, c := range read {
		to, err := c.place(stepX, stepY)
		if err != nil {
			t.Fatal(err)
		}
		at := geom.Add(to.Apply(orb.Point{c.frame.Min[0], c.frame.Max[1]}), orb.Point{-90, 75})
		long := 0.0
		for _, s := range read {
			if to, err = s.place(stepX, stepY); err != nil {
				t.Fatal(err)
			}
			for _, p := range s.lines[cutPen] {
				for i := range p.Segments() {
					a, b := p.Segment(i)
					if in := geom.Sub(to.Apply(geom.Lerp(a, b, 0.5)), at); in[0] > 0 && in[0] < 180 && in[1] < 0 && in[1] > -130 {
						long += geom.Dist(a, b)
					}
				}
			}
		}
		if at[0] > 0 && at[1] < 0 && long > most {
			corner, most = at, long
		}
	}
	out := image.NewRGBA(image.Rect(0, 0, int(180*px), int(130*px)))
	draw.Draw(out, out.Bounds(), image.NewUniform(color.Gray{0xd0}), image.Point{}, draw.Src)
	for i, s := range read { // in the order in which they are laid: row by row, from the left
		to, err := s.place(stepX, stepY)
		if err != nil {
			t.Fatal(err)
		}
		img := page(i + 2)
		// The paper from the frame's upper left corner on.
		at := to.Apply(orb.Point{s.frame.Min[0], s.frame.Max[1]})
		from := image.Pt(int(math.Round(s.frame.Min[0]*px)), int(math.Round((float64(img.Bounds().Dy())/px-s.frame.Max[1])*px)))
		size := image.Pt(int((s.frame.Max[0]-s.frame.Min[0])*px)+2, int((s.frame.Max[1]-s.frame.Min[1])*px)+2)
		put := image.Pt(int(math.Round((at[0]-corner[0])*px)), int(math.Round((corner[1]-at[1])*px)))
		draw.Draw(out, image.Rectangle{Min: put, Max: put.Add(size)}, img, from, draw.Src)
	}
	return encoded(page(1)), encoded(out)
}
