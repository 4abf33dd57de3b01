package labels

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/devices/paper"
	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/pdf"
)

// row is a piece on the card: once, with a box to tick for each time that it is cut.
type row struct {
	Piece
	numbers []int
}

// byCloth are the rows, those of each cloth together, cloths and pieces in the order in which they are cut first.
func byCloth(set Set) (cloths []string, of map[string][]row) {
	of = map[string][]row{}
	for _, p := range set.Pieces {
		if of[p.Cloth] == nil {
			cloths = append(cloths, p.Cloth)
		}
		rows := of[p.Cloth]
		k := slices.IndexFunc(rows, func(r row) bool {
			return r.Name == p.Name && r.Style == p.Style && r.Whose == p.Whose && r.Words == p.Words
		})
		if k < 0 {
			rows = append(rows, row{Piece: p})
			k = len(rows) - 1
		}
		rows[k].numbers = append(rows[k].numbers, p.Number)
		of[p.Cloth] = rows
	}
	return cloths, of
}

// The card's ink, mm.
const (
	cardWide = paper.BothWide
	cardHigh = paper.BothHigh
	pitch    = 8.0 // from row to row
)

// columns are where the columns of the card begin, mm from its left.
var columns = []float64{0, 78, 118, 158}

// Card writes the card of all pieces by cloth, to tick at the table. Width and height are those of the paper, mm.
func Card(set Set, width, height float64) ([]byte, error) {
	c := card{d: pdf.NewDocument(set.title() + ", pieces to cut"), set: set, width: width, height: height}
	styles := map[string]bool{}
	for _, p := range set.Pieces {
		styles[p.Style] = true
	}
	cloths, of := byCloth(set)
	c.page()
	for _, cloth := range cloths {
		n := 0
		for _, r := range of[cloth] {
			n += len(r.numbers)
		}
		c.room(3 * pitch) // a cloth's name does not stand alone at a foot
		c.y -= 3
		c.line(orb.Point{c.left, c.y}, pdf.Lettering{Bold: true, Height: 3.4, Most: cardWide}, fmt.Sprintf("Of %s: %s", cloth, pattern.Count(n, "cut piece")))
		c.rule(0.35)
		for _, r := range of[cloth] {
			if len(styles) > 1 {
				r.Name += " (" + r.Style + ")"
			}
			c.row(r)
		}
	}
	return c.d.Bytes()
}

// card is one that is being written.
type card struct {
	d             *pdf.Document
	set           Set
	width, height float64
	left, low, y  float64
	pages         int
}

// page begins a page with its head.
func (c *card) page() {
	c.pages++
	c.d.Page(c.width, c.height, geom.Identity)
	c.left, c.low = (c.width-cardWide)/2, (c.height-cardHigh)/2
	c.y = c.height - c.low - 6
	title := c.set.title()
	if c.set.Job > 0 {
		title += fmt.Sprintf(", job %d", c.set.Job)
	}
	c.d.Text(orb.Point{c.left, c.y}, pdf.Lettering{Bold: true, Height: 4.5, Most: cardWide}, title)
	c.y -= 6
	words := fmt.Sprintf("%s, numbered %s. Tick a box for each piece as it comes off the table.", pattern.Count(len(c.set.Pieces), "cut piece"), c.set.Order)
	if c.pages > 1 {
		words = fmt.Sprintf("page %d", c.pages)
	}
	c.d.Text(orb.Point{c.left, c.y}, pdf.Lettering{Height: 2.3, Most: cardWide}, words)
	c.y -= pitch
}

// room begins another page where less than so much is left on this one.
func (c *card) room(high float64) {
	if c.y-high < c.low {
		c.page()
	}
}

func (c *card) line(at orb.Point, l pdf.Lettering, words string) { c.d.Text(at, l, words) }

// rule draws a line across under what was written, and goes on to the next row.
func (c *card) rule(width float64) {
	c.d.Line(width, orb.Point{c.left, c.y - 2.2}, orb.Point{c.left + cardWide, c.y - 2.2})
	c.y -= pitch
}

// row writes a piece, as many boxes as it is cut, and their numbers.
func (c *card) row(r row) {
	const size, each, most = 4.5, 6.5, 6
	lines := (len(r.numbers) + most - 1) / most
	c.room(float64(lines) * pitch)
	room := func(k int) float64 { return columns[k+1] - columns[k] - 2 }
	c.line(orb.Point{c.left, c.y}, pdf.Lettering{Bold: true, Height: 2.8, Most: room(0)}, r.Name)
	c.line(orb.Point{c.left + columns[1], c.y}, pdf.Lettering{Height: 2.5, Most: room(1)}, r.Words)
	words := r.Whose
	if words != "" {
		words += ", "
	}
	words += "no. " + spans(r.numbers)
	c.line(orb.Point{c.left + columns[2], c.y}, pdf.Lettering{Height: 2.5, Most: room(2)}, words)
	for i := range r.numbers {
		x := c.left + columns[3] + float64(i%most)*each*0.82
		y := c.y - 1 - math.Floor(float64(i)/most)*pitch*0.75
		c.d.Stroke(0.35, pdf.Box(orb.Bound{Min: orb.Point{x, y}, Max: orb.Point{x + size, y + size}}))
	}
	c.y -= float64(lines-1) * pitch * 0.75
	c.rule(0.12)
}

// spans writes numbers in their order, neighbours as spans: "1, 3-5, 8".
func spans(numbers []int) string {
	all := slices.Compact(slices.Sorted(slices.Values(numbers)))
	var out []string
	for i := 0; i < len(all); {
		k := i
		for k+1 < len(all) && all[k+1] == all[k]+1 {
			k++
		}
		switch k - i {
		case 0:
			out = append(out, fmt.Sprint(all[i]))
		case 1:
			out = append(out, fmt.Sprint(all[i]), fmt.Sprint(all[k]))
		default:
			out = append(out, fmt.Sprintf("%d-%d", all[i], all[k]))
		}
		i = k + 1
	}
	return strings.Join(out, ", ")
}
