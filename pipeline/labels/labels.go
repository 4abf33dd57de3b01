// Package labels makes stickers for cut pieces, in the order in which they are cut, and the card on which they are ticked
// at the table, as PDF. It takes what is to be written and a sheet or roll of labels, and knows nothing of drafts.
package labels

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/devices/paper"
	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/pdf"
)

// Set is what is cut.
type Set struct {
	Job int64 // its number, 0 for none
	// Order says by what the pieces are numbered: "in the order in which they are laid".
	Order string
	// Pieces are all that are cut, in the order in which they are, each copy for itself.
	Pieces []Piece
	// All is how many numbers there are.
	All int
}

// title names the styles and for whom they are.
func (s Set) title() string {
	var styles, whose []string
	for _, p := range s.Pieces {
		if !slices.Contains(styles, p.Style) {
			styles = append(styles, p.Style)
		}
		if p.Whose != "" && !slices.Contains(whose, p.Whose) {
			whose = append(whose, p.Whose)
		}
	}
	return strings.TrimSuffix(strings.Join(styles, " and ")+", "+strings.Join(whose, ", "), ", ")
}

// Piece is one cut piece of cloth.
type Piece struct {
	Style, Name string
	// Whose is for whom it is, "for A" or "size 12", "" where nobody says.
	Whose string
	// Words say how often it is cut: "cut 2, a pair".
	Words        string
	Cloth        string
	Copy, Copies int
	// Number is the one that it bears: of a job's piece that of the lay's picture.
	Number int
}

// Stock is a sheet or a roll of labels. Lengths are mm.
type Stock struct {
	Name          string
	Width, Height float64 // of the page
	Columns, Rows int
	// Label is how wide and high a label is, Edge what lies left of and above the first one, Gap what lies between two.
	Label, Edge, Gap [2]float64
}

// stocks are sheets of labels that many shops sell. Their sizes are common practice.
var stocks = []Stock{
	{"3x8", paper.A4.Width, paper.A4.Height, 3, 8, [2]float64{70, 37}, [2]float64{0, 0.5}, [2]float64{}},
	{"3x7", paper.A4.Width, paper.A4.Height, 3, 7, [2]float64{63.5, 38.1}, [2]float64{7.25, 15.15}, [2]float64{2.5, 0}},
	{"2x7", paper.A4.Width, paper.A4.Height, 2, 7, [2]float64{99.1, 38.1}, [2]float64{4.65, 15.15}, [2]float64{2.5, 0}},
	{"2x8", paper.A4.Width, paper.A4.Height, 2, 8, [2]float64{99.1, 33.9}, [2]float64{4.65, 12.9}, [2]float64{2.5, 0}},
	{"letter 3x10", paper.Letter.Width, paper.Letter.Height, 3, 10, [2]float64{66.675, 25.4}, [2]float64{4.7625, 12.7}, [2]float64{3.175, 0}},
	{"letter 2x5", paper.Letter.Width, paper.Letter.Height, 2, 5, [2]float64{101.6, 50.8}, [2]float64{3.96875, 12.7}, [2]float64{4.7625, 0}},
}

// Grids names the known sheets of labels with the size of a label.
func Grids() string {
	var out []string
	for _, s := range stocks {
		size := fmt.Sprintf("%s x %s mm", pattern.Tenths(s.Label[0]), pattern.Tenths(s.Label[1]))
		if s.Width == paper.Letter.Width {
			size = fmt.Sprintf("%s x %s in", pattern.Inches(s.Label[0]), pattern.Inches(s.Label[1]))
		}
		out = append(out, fmt.Sprintf("%q (%s)", s.Name, size))
	}
	return strings.Join(out, ", ")
}

// The least and the largest label, mm.
var least, largest = [2]float64{30, 15}, [2]float64{300, 300}

var gridForm = regexp.MustCompile(`^(letter )?(\d{1,2})x(\d{1,2}) of (\d+(?:\.\d+)?)x(\d+(?:\.\d+)?)( ?mm| ?in)?$`)

// ParseGrid reads which sheet of labels there is: one of Grids, or any other by its numbers and the size of a label in mm
// or in, as "4x12 of 45x21.2" or "letter 2x3 of 4x3in", whose labels lie evenly about the middle of the sheet.
func ParseGrid(text string) (Stock, error) {
	said := strings.ToLower(strings.Join(strings.Fields(text), " "))
	if i := slices.IndexFunc(stocks, func(s Stock) bool { return s.Name == said }); i >= 0 {
		return stocks[i], nil
	}
	m := gridForm.FindStringSubmatch(said)
	if m == nil {
		return Stock{}, fmt.Errorf("the sheet of labels %q is not known: say one of %s, or columns, rows and the size of a label, as \"4x12 of 45x21.2\" (\"letter 2x3 of 4x3in\" on Letter)", text, Grids())
	}
	s := Stock{Name: said, Width: paper.A4.Width, Height: paper.A4.Height}
	if m[1] != "" {
		s.Width, s.Height = paper.Letter.Width, paper.Letter.Height
	}
	s.Columns, _ = strconv.Atoi(m[2])
	s.Rows, _ = strconv.Atoi(m[3])
	unit := 1.0
	if strings.TrimSpace(m[6]) == "in" {
		unit = 25.4
	}
	for i := range 2 {
		v, err := strconv.ParseFloat(m[4+i], 64)
		if err != nil {
			return s, err
		}
		s.Label[i] = v * unit
	}
	if err := s.size(); err != nil {
		return s, err
	}
	room := [2]float64{s.Width - float64(s.Columns)*s.Label[0], s.Height - float64(s.Rows)*s.Label[1]}
	if s.Columns < 1 || s.Rows < 1 || room[0] < -0.01 || room[1] < -0.01 {
		return s, fmt.Errorf("%d by %d labels of %s by %s mm do not lie on a sheet of %s by %s mm", s.Columns, s.Rows,
			pattern.Tenths(s.Label[0]), pattern.Tenths(s.Label[1]), pattern.Tenths(s.Width), pattern.Tenths(s.Height))
	}
	s.Edge = [2]float64{room[0] / 2, room[1] / 2}
	return s, nil
}

var rollForm = regexp.MustCompile(`^(\d+(?:\.\d+)?)(?:x(\d+(?:\.\d+)?))?( ?mm| ?in)?$`)

// ParseRoll reads how wide a roll of labels is, and how long each label where it is not cut to length: "62", "62x29",
// "2x1in". Each label is a page.
func ParseRoll(text string) (Stock, error) {
	m := rollForm.FindStringSubmatch(strings.ToLower(strings.TrimSpace(text)))
	if m == nil {
		return Stock{}, fmt.Errorf("a roll is said by its width, or by the size of its labels, as 62, 62x29 or 2x1in, not %q", text)
	}
	s := Stock{Name: text, Columns: 1, Rows: 1, Label: [2]float64{0, 30}}
	for i, said := range m[1:3] {
		if said == "" {
			continue
		}
		v, err := strconv.ParseFloat(said, 64)
		if err != nil {
			return s, err
		}
		if strings.TrimSpace(m[3]) == "in" {
			v *= 25.4
		}
		s.Label[i] = v
	}
	s.Width, s.Height = s.Label[0], s.Label[1]
	return s, s.size()
}

func (s *Stock) size() error {
	for i := range 2 {
		if s.Label[i] < least[i] || s.Label[i] > largest[i] {
			return fmt.Errorf("a label of %s by %s mm: one is at least %.0f by %.0f mm, and at most %.0f mm long", pattern.Tenths(s.Label[0]), pattern.Tenths(s.Label[1]), least[0], least[1], largest[0])
		}
	}
	return nil
}

// Box is where the n-th label of a page lies, from 0, row by row: mm from the page's lower left corner.
func (s *Stock) Box(n int) orb.Bound {
	x := s.Edge[0] + float64(n%s.Columns)*(s.Label[0]+s.Gap[0])
	y := s.Height - s.Edge[1] - float64(n/s.Columns)*(s.Label[1]+s.Gap[1])
	return orb.Bound{Min: orb.Point{x, y - s.Label[1]}, Max: orb.Point{x + s.Label[0], y}}
}

// What stays free within a label, since labels and sheets slip a little, and at the edge of the sheet, which printers leave
// free, mm (common practice).
const (
	inside   = 2.0
	pageEdge = 6.5
)

// writable is the part of a label that is written on.
func (s *Stock) writable(n int) orb.Bound {
	b := s.Box(n)
	free := pageEdge
	if s.Columns*s.Rows == 1 { // a label printer prints nearly to the edge
		free = inside
	}
	return orb.Bound{
		Min: orb.Point{max(b.Min[0]+inside, free), max(b.Min[1]+inside, free)},
		Max: orb.Point{min(b.Max[0]-inside, s.Width-free), min(b.Max[1]-inside, s.Height-free)}}
}

// Stickers writes a label for each piece, in their order. The first label is the n-th of the first sheet, counted from 1, so
// that a sheet that was begun is used up.
func Stickers(set Set, s Stock, first int) ([]byte, error) {
	if len(set.Pieces) == 0 {
		return nil, errors.New("there is no piece to label")
	}
	each := s.Columns * s.Rows
	if first < 1 || first > each {
		return nil, fmt.Errorf("a sheet has labels 1 to %d, and no label %d to begin with", each, first)
	}
	d := pdf.NewDocument(set.title() + ", labels")
	for i := range set.Pieces {
		n := (i + first - 1) % each
		if i == 0 || n == 0 {
			d.Page(s.Width, s.Height, geom.Identity)
		}
		sticker(d, s.writable(n), set, i)
	}
	return d.Bytes()
}

// sticker writes one label: the piece in large letters, then the style, for whom it is, how often it is cut and of which
// cloth, and its number.
func sticker(d *pdf.Document, in orb.Bound, set Set, i int) {
	p := &set.Pieces[i]
	cut := p.Words
	if p.Copies > 1 {
		cut += fmt.Sprintf(" (%d of %d)", p.Copy, p.Copies)
	}
	last := fmt.Sprintf("piece %d of %d", p.Number, set.All)
	if set.Job > 0 {
		last += fmt.Sprintf(", job %d", set.Job)
	}
	lines := []string{p.Name, p.Style, p.Whose, cut + ", of " + p.Cloth, last}
	lines = slices.DeleteFunc(lines, func(l string) bool { return l == "" })
	room := in.Max[0] - in.Min[0]
	// The first line takes twice the height of the others; between lines lie three quarters of their height.
	const pitch = 1.75
	height := min(3.2, (in.Max[1]-in.Min[1])/(pitch*float64(len(lines)-1)+1.6*pitch))
	y := in.Max[1]
	for k, line := range lines {
		l := pdf.Lettering{Height: height, Most: room}
		if k == 0 {
			l.Bold, l.Height = true, 1.6*height
		}
		y -= l.Height
		d.Text(orb.Point{in.Min[0], y}, l, line)
		y -= (pitch - 1) * l.Height
	}
}
