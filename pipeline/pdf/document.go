// Package pdf writes pages at true size: lines, words as text in embedded fonts, layers, and that a viewer must not scale
// them. It takes mm and knows nothing of what a pattern is; only which characters may be shown it has from there.
package pdf

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// Points is how many units of a page there are in a mm.
const Points = 72 / 25.4

// Document writes pages by codeberg.org/go-pdf/fpdf. Of three kept libraries that were tried it is the one that takes
// paths and operators of our own, has layers, and writes the same bytes each time; gopdf draws no paths, pdfcpu writes
// another file each time and adds 7 MB to the program.
//
// Places are mm from a page's lower left corner, y up; angles are degrees
// counter-clockwise. Lines are written as operators of our own, since the library rounds them to 0.01 pt.
type Document struct {
	f    *fpdf.Fpdf
	high float64 // of the page
	ops  strings.Builder
	open bool
	mono bool // its font is in the file
}

// NewDocument begins a file. Its language is that of the words on it.
func NewDocument(title string) *Document {
	f := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm"})
	f.SetMargins(0, 0, 0)
	f.SetAutoPageBreak(false, 0)
	f.SetCatalogSort(true)
	f.SetProducer("tracewheel", true)
	f.SetTitle(pattern.Printable(title), true)
	f.SetLang("en")
	never := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC) // taken out again at the end
	f.SetCreationDate(never)
	f.SetModificationDate(never)
	for _, style := range []string{"", "B"} { // a copy: the library writes into the bytes of a font
		f.AddUTF8FontFromBytes("go", style, bytes.Clone(faces()[style].data))
	}
	return &Document{f: f}
}

// Page begins a page; what is drawn on it passes through a map first.
func (d *Document) Page(w, h float64, m geom.Affine) {
	d.end()
	d.f.AddPageFormat("P", fpdf.SizeType{Wd: w, Ht: h})
	d.high, d.open = h, true
	d.Op("q")
	if m != geom.Identity {
		for _, v := range []float64{m.A, m.B, m.C, m.D} {
			d.ops.WriteString(strconv.FormatFloat(v, 'f', 8, 64) + " ")
		}
		d.number(m.E)
		d.number(m.F)
		d.Op("cm")
	}
	d.Op("1 J 1 j")
}

// end ends the page.
func (d *Document) end() {
	if d.open {
		d.Op("Q")
		d.flush()
		d.open = false
	}
}

// Trim says where the pattern lies on the page, for programs that ask.
func (d *Document) Trim(b orb.Bound) {
	d.f.SetPageBox("trim", b.Min[0], d.high-b.Max[1], b.Max[0]-b.Min[0], b.Max[1]-b.Min[1])
}

// AddLayer adds a layer of a name, which is shown at first.
func (d *Document) AddLayer(name string) int { return d.f.AddLayer(pattern.Printable(name), true) }

// Layer lets a reader show or hide what follows: the n-th of some layers, counted from 1; 0 ends the last one.
func (d *Document) Layer(layers []int, n int) {
	if len(layers) == 0 {
		return
	}
	d.flush()
	if n == 0 {
		d.f.EndLayer()
		return
	}
	d.f.BeginLayer(layers[n-1])
}

// Op writes an operator with its operands (ISO 32000-1, annex A).
func (d *Document) Op(s string) { d.ops.WriteString(s + "\n") }

// flush brings what was written so far before what the library writes next.
func (d *Document) flush() {
	if d.ops.Len() > 0 {
		d.f.RawWriteStr(strings.TrimSuffix(d.ops.String(), "\n"))
		d.ops.Reset()
	}
}

// number writes a length in the page's units, to 0.00004 mm.
func (d *Document) number(mm float64) {
	s := strconv.FormatFloat(mm*Points, 'f', 4, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" || s == "" {
		s = "0"
	}
	d.ops.WriteString(s + " ")
}

func (d *Document) point(p orb.Point, then string) {
	d.number(p[0])
	d.number(p[1])
	d.Op(then)
}

// Stroke draws lines of a width.
func (d *Document) Stroke(width float64, lines ...geom.Path) {
	d.number(width)
	d.Op("w")
	for _, l := range lines {
		d.path(l)
	}
	d.Op("S")
}

func (d *Document) path(l geom.Path) {
	for i, p := range l.Points {
		if i == 0 {
			d.point(p, "m")
			continue
		}
		d.point(p, "l")
	}
	if l.Closed {
		d.Op("h")
	}
}

// Fill fills lines in a shade from 0, black, to 1.
func (d *Document) Fill(shade float64, lines ...geom.Path) {
	d.fill(strconv.FormatFloat(shade, 'f', 3, 64)+" g", lines)
}

// FillColour fills lines in a colour, three shares of red, green and blue from 0 to 1.
func (d *Document) FillColour(rgb string, lines ...geom.Path) { d.fill(rgb+" rg", lines) }

func (d *Document) fill(colour string, lines []geom.Path) {
	d.Op("q " + colour)
	for _, l := range lines {
		d.path(l)
	}
	d.Op("f Q")
}

// Line draws one straight line.
func (d *Document) Line(width float64, a, b orb.Point) {
	d.Stroke(width, geom.Path{Points: []orb.Point{a, b}})
}

func Box(b orb.Bound) geom.Path {
	return geom.Path{Closed: true, Points: []orb.Point{b.Min, {b.Max[0], b.Min[1]}, b.Max, {b.Min[0], b.Max[1]}}}
}

// Bytes ends the file: the same bytes each time.
func (d *Document) Bytes() ([]byte, error) {
	d.end()
	var b bytes.Buffer
	if err := d.f.Output(&b); err != nil {
		return nil, err
	}
	return unscaled(b.Bytes())
}

var (
	rootOf  = regexp.MustCompile(`/Root (\d+) 0 R`)
	infoOf  = regexp.MustCompile(`/Info (\d+) 0 R`)
	sizeOf  = regexp.MustCompile(`/Size (\d+)`)
	startOf = regexp.MustCompile(`startxref\s+(\d+)\s+%%EOF\s*$`)
	dateOf  = regexp.MustCompile(`/(CreationDate|ModDate) \([^)]*\)\n?`)
)

// unscaled adds what the library cannot say, as an incremental update (ISO 32000-1, 7.5.6): that a viewer must not
// scale the pages, and which paper and side they want. The date that the library insists on goes, and the file gets
// an identity that is made of its bytes.
func unscaled(file []byte) ([]byte, error) {
	number := func(re *regexp.Regexp, in []byte) (int, bool) {
		m := re.FindSubmatch(in)
		if m == nil {
			return 0, false
		}
		n, err := strconv.Atoi(string(m[1]))
		return n, err == nil
	}
	trailer := file[max(0, bytes.LastIndex(file, []byte("trailer"))):]
	root, ok1 := number(rootOf, trailer)
	info, ok2 := number(infoOf, trailer)
	size, ok3 := number(sizeOf, trailer)
	start, ok4 := number(startOf, trailer)
	catalog, ok5 := object(file, root)
	about, ok6 := object(file, info)
	if !ok1 || !ok2 || !ok3 || !ok4 || !ok5 || !ok6 {
		return nil, errors.New("the PDF library writes files of another form than it did, so that its viewers cannot be told not to scale")
	}
	sum := sha256.Sum256(file)
	end := bytes.LastIndex(catalog, []byte(">>"))
	catalog = fmt.Appendf(bytes.Clone(catalog[:end]), "/ViewerPreferences <</PrintScaling /None /Duplex /Simplex /DisplayDocTitle true>>\n>>\n")
	about = dateOf.ReplaceAll(about, nil)

	out := bytes.Clone(file)
	at := map[int]int{}
	for _, o := range []struct {
		n    int
		text []byte
	}{{root, catalog}, {info, about}} {
		at[o.n] = len(out)
		out = fmt.Appendf(out, "%d 0 obj\n%s\nendobj\n", o.n, bytes.TrimSpace(o.text))
	}
	xref := len(out)
	out = append(out, "xref\n"...)
	for _, n := range []int{min(root, info), max(root, info)} {
		out = fmt.Appendf(out, "%d 1\n%010d 00000 n \n", n, at[n])
	}
	id := fmt.Sprintf("<%x>", sum[:16])
	return fmt.Appendf(out, "trailer\n<<\n/Size %d\n/Root %d 0 R\n/Info %d 0 R\n/Prev %d\n/ID [%s %s]\n>>\nstartxref\n%d\n%%%%EOF\n", size, root, info, start, id, id, xref), nil
}

// object is what stands between an object's number and its end.
func object(file []byte, n int) ([]byte, bool) {
	head := fmt.Appendf(nil, "\n%d 0 obj\n", n)
	from := bytes.LastIndex(file, head)
	if from < 0 {
		return nil, false
	}
	body := file[from+len(head):]
	to := bytes.Index(body, []byte("\nendobj"))
	if to < 0 || !bytes.Contains(body[:to], []byte(">>")) {
		return nil, false
	}
	return body[:to], true
}
