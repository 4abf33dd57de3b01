// Package sheets makes a PDF of a pattern at true size: on sheets to tape together, on a roll, or as one page for a
// projector. It takes cut-ready pieces and a paper, and gives the bytes and what is said of them.
//
// The pattern lies on a plane that is divided into sheets; neighbours overlap, and a sheet's frame tells its true
// size.
package sheets

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/pdf"
)

// Parts of a sheet outside the frame, mm: a head for its name, a strip at the left for the length of the side.
const (
	head = 11.0
	side = 4.0
)

// Set is the pattern to be drawn.
type Set struct {
	// Title is the style, Whose the person it is for, "" where it is not known.
	Title, Whose string
	// Of says whom a size is for: "size 12", "for chorus 4".
	Of    func(size string) string
	Ready []pattern.Ready
	// Pieces are the pieces to cut, in the order of the draft.
	Pieces []Listed
	// Cloth says what to buy, one line each.
	Cloth []string
	// Net means that the pieces have no allowance, and are cut on the sew line.
	Net bool
}

// forAll says for all sizes of a nested piece what the first one's letters say.
func (s Set) forAll(words string, of shape) string {
	if len(of.members) < 2 || s.Of == nil {
		return words
	}
	first := s.Of(of.members[0].piece.Size)
	if first == "" {
		return words
	}
	return strings.ReplaceAll(words, first, s.Whose)
}

func (s Set) title() string {
	if s.Whose == "" {
		return s.Title
	}
	return s.Title + ", " + s.Whose
}

// Listed is a piece in the first sheet's list.
type Listed struct {
	Name string
	// Words say how often it is cut, as in "cut 1 on the fold".
	Words string
	// Cloth is the name of its material, "" for the only one.
	Cloth string
	// Of is the garment it belongs to, "" where all belong to one.
	Of string
}

// Options say on what the pattern is drawn.
type Options struct {
	Paper Paper
	// Overlap is the width of the strip that two sheets share, mm.
	Overlap float64
	Lay     Lay
	// Printer maps a place in the file to the place where the printer puts it, about the middle of the page. The zero
	// map is a printer that was not measured.
	Printer geom.Affine
	// Measured says when and what was measured of the printer, one line each, for the first sheet.
	Measured []string
	// Calibration is the number of the printer's calibration that undoes this, 0 for none. Every sheet says it,
	// because readings of a sheet mean nothing without it.
	Calibration int
}

// Overlap is the default width of the shared strip, mm.
const Overlap = 10.0

// Book is a set of sheets.
type Book struct {
	PDF []byte
	// Sheets counts the sheets of pattern without the first sheet, Columns and Rows say how they lie, Blank how many
	// of the places stay empty.
	Sheets, Columns, Rows, Blank int
	// Divided are the pieces that do not fit on one sheet, one entry for each name.
	Divided []Divided
	// Placed says where the pieces lie.
	Placed []Placed
	// Notes are remarks on the printer that a person should read.
	Notes []string

	arranged arranged
	whole    bool // some piece lies whole on one sheet
}

// Said is what a person is told of a book that is saved in the named file, its notes first.
func (b *Book) Said(file string, projector bool) string {
	var out strings.Builder
	for _, n := range b.Notes {
		fmt.Fprintf(&out, "note: %s\n", n)
	}
	if projector {
		fmt.Fprintf(&out, "%s: one page for a projector. Set the projector until the squares of the grid are 100 mm on the cloth.\n", file)
	} else {
		fmt.Fprintf(&out, "%s: %s of pattern and a first sheet with map and test squares. Print at 100 %%, the first sheet alone, and measure its squares.\n", file, pattern.Count(b.Sheets, "sheet"))
		if taped := b.taped(); taped != "" {
			fmt.Fprintf(&out, "%s: %s.\n", file, taped)
		}
	}
	return out.String()
}

// Placed is where a piece lies.
type Placed struct {
	Ready int // index into Set.Ready
	// Map moves the piece to the plane of the sheets: mm, y up, the upper left corner of the frame of sheet A1 at the
	// origin.
	Map geom.Affine
	// On names the sheets that show it, "A1" and so on; a piece that lies whole on one sheet has that one first.
	On []string
}

// book is a Book that is being drawn.
type book struct {
	*Book
	set    Set
	opt    Options
	d      *pdf.Document
	undo   geom.Affine // maps what is drawn, so that it is printed true
	shapes []shape
	layers []int // of the sizes that are nested
}

// Make lays the pieces, divides the lay and draws it.
func Make(set Set, opt Options) (*Book, error) {
	if len(set.Ready) == 0 {
		return nil, errors.New("there is no piece to draw")
	}
	undo, err := undoing(opt.Printer)
	if err != nil {
		return nil, err
	}
	b := &book{Book: &Book{}, set: set, opt: opt, undo: undo}
	inkWide, inkHigh := b.trueInk()
	g := grid{wide: inkWide - side, high: inkHigh - head, overlap: opt.Overlap}
	if opt.Overlap < 0 || opt.Overlap > math.Min(g.wide, g.high)/3 {
		return nil, fmt.Errorf("an overlap of %.0f mm leaves too little of a sheet of %.0f by %.0f mm: take one from 0 to %.0f mm", opt.Overlap, g.wide, g.high, math.Floor(math.Min(g.wide, g.high)/3))
	}
	most := widest
	if opt.Paper.Roll {
		most = 1
	}
	var sizes []string
	b.shapes, sizes = nest(set)
	if b.arranged, err = arrange(b.shapes, g, most, opt.Lay); err != nil {
		return nil, err
	}
	b.count()
	title := set.title()
	b.d = pdf.NewDocument(title)
	for _, s := range sizes {
		b.layers = append(b.layers, b.d.AddLayer(s))
	}
	b.first(title)
	for i, c := range b.arranged.sheets {
		b.sheet(i, c, title)
	}
	b.PDF, err = b.d.Bytes()
	return b.Book, err
}

// undoing is the inverse of a printer's distortion; the identity where nobody measured.
func undoing(m geom.Affine) (geom.Affine, error) {
	if m == (geom.Affine{}) {
		return geom.Identity, nil
	}
	inv, ok := m.Inverse()
	if !ok {
		return inv, errors.New("the printer's calibration has no inverse: measure it again")
	}
	return inv, nil
}

// trueInk is the size of the true pattern on a page, in whole mm. It is smaller than the paper's printable area where
// the printer prints too small, because what is enlarged must still lie within that area.
func (b *book) trueInk() (w, h float64) {
	iw, ih := b.opt.Paper.Ink()
	m := b.undo
	w = iw / (math.Abs(m.A) + math.Abs(m.C)*ih/iw)
	h = ih / (math.Abs(m.D) + math.Abs(m.B)*iw/ih)
	return math.Floor(math.Min(w, iw) + 1e-9), math.Floor(math.Min(h, ih) + 1e-9)
}

func (b *book) count() {
	a := &b.arranged
	b.Sheets = len(a.sheets)
	for _, c := range a.sheets {
		b.Columns, b.Rows = max(b.Columns, c.col+1), max(b.Rows, c.row+1)
	}
	b.Blank = b.Columns*b.Rows - b.Sheets
	for i := range a.pieces {
		switch {
		case len(a.pieces[i].on) > 1 && a.pieces[i].home == nil:
			b.divide(b.shapes[a.pieces[i].ready].Name, a.pieces[i].on)
		default:
			b.whole = true
		}
		var p Placed
		if h := a.pieces[i].home; h != nil {
			p.On = append(p.On, h.name())
		}
		for _, c := range a.pieces[i].on {
			if !slices.Contains(p.On, c.name()) {
				p.On = append(p.On, c.name())
			}
		}
		for _, m := range b.shapes[a.pieces[i].ready].members {
			p.Ready, p.Map = m.ready, a.pieces[i].place.After(m.align)
			b.Placed = append(b.Placed, p)
		}
	}
}

// divide records the sheets of a divided piece.
func (b *book) divide(name string, on []cell) {
	d := b.dividedAs(name)
	if d == nil {
		b.Divided = append(b.Divided, Divided{Name: name})
		d = &b.Divided[len(b.Divided)-1]
	}
	for _, c := range on {
		if !slices.Contains(d.On, c.name()) {
			d.On = append(d.On, c.name())
		}
	}
}

// begin begins a page whose pattern is so high, and gives its frame.
func (b *book) begin(high float64) orb.Bound {
	p := b.opt.Paper
	w, h := b.trueInk()
	page := p.Height
	if p.Roll {
		page -= h - high
		h = high
	}
	centre := orb.Point{p.Left + (p.Width-p.Left-p.Right)/2, p.Bottom + (page-p.Bottom-p.Top)/2}
	m := geom.Identity
	if b.undo != geom.Identity {
		m = geom.Translate(centre[0], centre[1]).After(b.undo).After(geom.Translate(-centre[0], -centre[1]))
	}
	b.d.Page(p.Width, page, m)
	frame := orb.Bound{Min: orb.Point{centre[0] - w/2 + side, centre[1] - h/2}, Max: orb.Point{centre[0] + w/2, centre[1] + h/2 - head}}
	b.d.Trim(frame)
	return frame
}

// name is a sheet's name: its row by letter, its column by number, as on a map.
func (c cell) name() string { return fmt.Sprintf("%s%d", rowName(c.row), c.col+1) }

func rowName(row int) string {
	if row < 26 {
		return string(rune('A' + row))
	}
	return rowName(row/26-1) + rowName(row%26)
}
