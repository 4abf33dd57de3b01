package sheets

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/devices/paper"
	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/pdf"
)

// The sides of the two test squares, mm.
const (
	squareMM = 100.0
	squareIn = 4 * 25.4
)

// firstHigh is how long the first page of a roll is, without its margins, mm.
const firstHigh = paper.BothHigh

// Parts of the first sheet beside its squares, mm: the title above them, and the gap between parts.
const (
	titleHigh = 13.0
	between   = 5.0
)

// first draws the first sheet: the test squares with instructions, the list of pieces, the cloth and the map. The
// squares stand one above the other where the sheet is high enough, else side by side; the map fills the rest.
func (b *book) first(title string) {
	_, h := b.trueInk()
	if b.opt.Paper.Roll {
		h = math.Min(h, firstHigh)
	}
	frame := b.begin(h)
	frame.Min[0] -= side
	frame.Max[1] += head
	left, right, low, top := frame.Min[0], frame.Max[0], frame.Min[1], frame.Max[1]
	b.d.Text(orb.Point{left, top - 5.5}, pdf.Lettering{Bold: true, Height: 5, Most: right - left}, title)
	b.d.Text(orb.Point{left, top - 10}, pdf.Lettering{Height: 2.3, Most: right - left}, b.summary())

	upper := top - titleHigh
	mm := orb.Point{left + 0.2, upper - squareMM}
	inch := orb.Point{mm[0], mm[1] - between - squareIn}
	cloth := orb.Bound{Min: orb.Point{left, low}, Max: orb.Point{left + squareIn, inch[1] - 2}}
	chart := orb.Bound{Min: orb.Point{left + squareIn + between, low}, Max: orb.Point{right, upper}}
	if !stacked(top - low) {
		inch = orb.Point{mm[0] + squareMM + between, upper - squareIn}
		cloth = orb.Bound{Min: orb.Point{inch[0] + squareIn + between, inch[1]}, Max: orb.Point{right, upper}}
		chart = orb.Bound{Min: orb.Point{left, low}, Max: orb.Point{right, inch[1] - between}}
	}
	b.square(mm, squareMM, "100 mm", b.advice())
	b.square(inch, squareIn, "4 in", b.pieces())
	b.block(cloth, 2.5, b.cloth())
	b.chart(chart)
}

// stacked says whether the squares stand one above the other on a first sheet that is so high.
func stacked(high float64) bool { return high >= paper.FirstStacked[1] }

// summary says how many sheets there are and how they lie.
func (b *book) summary() string {
	if b.Sheets == 1 {
		return "1 sheet of pattern besides this one."
	}
	words := fmt.Sprintf("%s of pattern besides this one, in %s and %s", pattern.Count(b.Sheets, "sheet"), pattern.Count(b.Rows, "row"), pattern.Count(b.Columns, "column"))
	if b.Blank > 0 {
		words += fmt.Sprintf("; %s blank and left out", isAre(b.Blank))
	}
	return words + "."
}

func isAre(n int) string {
	if n == 1 {
		return "1 place is"
	}
	return fmt.Sprintf("%d places are", n)
}

// paragraph is a paragraph of a block of text.
type paragraph struct {
	bold  bool
	words string
}

// advice says how to print, measure and join.
func (b *book) advice() []paragraph {
	out := []paragraph{{true, "Print and measure first"},
		{false, "Print at 100 %: \"actual size\", no scaling, no \"fit to page\"; on one side of the paper."},
		{false, "Measure both sides of both squares with a steel rule, from line to line."},
		{false, "Less than 99.5 mm or more than 100.5 mm: do not tape or cut the sheets. Print them again."},
		{false, "The 4 in square may be 1/64 in too large or too small."}}
	if b.opt.Calibration == 0 {
		out = append(out, paragraph{false, "These sheets are " + b.carried() + "."})
	}
	for _, words := range b.opt.Measured {
		out = append(out, paragraph{false, words})
	}
	if b.Sheets == 1 {
		return out
	}
	overlap := b.arranged.grid.overlap
	out = append(out, paragraph{true, "Taping"})
	if overlap > 0 {
		out = append(out, paragraph{false, fmt.Sprintf("The sheets overlap by %s. Cut a sheet along its left and upper frame, lay it on its neighbours' grey strips so that the marks of the same number meet, and tape it.", lengths(overlap))})
	} else {
		out = append(out, paragraph{false, "Cut the sheets along their frames, lay frame to frame so that the marks of the same number meet, and tape them."})
	}
	sx, sy := b.arranged.grid.step()
	switch {
	case b.Columns > 1 && b.Rows > 1:
		out = append(out, paragraph{false, fmt.Sprintf("To check: it is %s from one sheet's left frame to the next one's, and %s from upper frame to upper frame.", lengths(sx), lengths(sy))})
	case b.Columns > 1:
		out = append(out, paragraph{false, fmt.Sprintf("To check: it is %s from one sheet's left frame to the next one's.", lengths(sx))})
	default:
		out = append(out, paragraph{false, fmt.Sprintf("To check: it is %s from one sheet's upper frame to the next one's.", lengths(sy))})
	}
	return out
}

// pieces lists the pieces to cut.
func (b *book) pieces() []paragraph {
	out := []paragraph{{true, "Pieces to cut"}}
	if b.set.Net {
		out = append(out, paragraph{true, "No seam allowance: the outlines are sew lines."})
	}
	of := ""
	for _, p := range b.set.Pieces {
		if p.Of != of {
			of = p.Of
			out = append(out, paragraph{true, of})
		}
		words := p.Name + ": " + p.Words
		if p.Cloth != "" {
			words += ", of " + p.Cloth
		}
		if d := b.dividedAs(p.Name); d != nil {
			words += "; taped from " + d.on()
		}
		out = append(out, paragraph{false, words})
	}
	return out
}

// cloth says what to buy.
func (b *book) cloth() (out []paragraph) {
	for _, c := range b.set.Cloth {
		if out == nil {
			out = append(out, paragraph{true, "Cloth to buy, by the first lay (one that is sought longer may take less)"})
		}
		out = append(out, paragraph{false, c})
	}
	return out
}

// square draws a test square with its length on two sides and words inside; at is its lower left corner.
func (b *book) square(at orb.Point, size float64, length string, words []paragraph) {
	b.d.Stroke(thick, pdf.Box(orb.Bound{Min: at, Max: orb.Point{at[0] + size, at[1] + size}}))
	b.d.Text(orb.Point{at[0] + size/2, at[1] + 2}, pdf.Lettering{Bold: true, Height: 4, From: 0.5}, length)
	b.d.Text(orb.Point{at[0] + 6, at[1] + size/2}, pdf.Lettering{Bold: true, Height: 4, From: 0.5, Angle: 90}, length)
	b.block(orb.Bound{Min: orb.Point{at[0] + 11, at[1] + 8}, Max: orb.Point{at[0] + size - 4, at[1] + size - 4}}, 2.7, words)
}

// block writes paragraphs into a box. Capitals are of the given height, or smaller so that all text fits.
func (b *book) block(in orb.Bound, height float64, words []paragraph) {
	const pitch = 1.75 // line spacing as a multiple of the height
	room := in.Max[0] - in.Min[0]
	type row struct {
		l    pdf.Lettering
		text string
		down float64
	}
	for ; ; height *= 0.96 {
		var rows []row
		deep := 0.0
		for i, p := range words {
			l := pdf.Lettering{Bold: p.bold, Height: height, Most: room}
			if p.bold {
				l.Height *= 1.15
				if i > 0 {
					deep += 0.7 * height
				}
			}
			for k, text := range l.Wrap(p.words, room) {
				deep += pitch * l.Height
				if k == 0 && i > 0 && !p.bold && len(words[i].words) > 0 {
					deep += 0.25 * height
				}
				rows = append(rows, row{l, text, deep - (pitch-1)*l.Height})
			}
		}
		if deep > in.Max[1]-in.Min[1] && height > 0.2 {
			continue
		}
		for _, r := range rows {
			b.d.Text(orb.Point{in.Min[0], in.Max[1] - r.down}, r.l, r.text)
		}
		return
	}
}

// chart draws the map of all sheets and their pieces, turned by a quarter where it is larger that way.
func (b *book) chart(in orb.Bound) {
	a := &b.arranged
	heading := "Map of the sheets"
	sx, sy := a.grid.step()
	wide, high := float64(b.Columns-1)*sx+a.grid.wide, float64(b.Rows-1)*sy+a.grid.high
	if b.opt.Paper.Roll {
		high = 0
		for i := range a.pieces {
			high = math.Max(high, -a.pieces[i].box.Min[1])
		}
	}
	w, h := in.Max[0]-in.Min[0]-1, in.Max[1]-in.Min[1]-8
	c := mapper{book: b, k: math.Min(w/wide, h/high), high: high}
	c.to = geom.Translate(in.Min[0]+0.5, in.Max[1]-7.5)
	if k := math.Min(w/high, h/wide); k > 1.2*c.k {
		heading += " (turn the page)"
		c.k, c.turn = k, 90
		c.to = geom.Translate(in.Min[0]+0.5, in.Max[1]-7.5-k*wide).After(geom.Rotate(math.Pi / 2))
	}
	c.k = math.Min(c.k, largestMap)
	b.d.Text(orb.Point{in.Min[0], in.Max[1] - 4}, pdf.Lettering{Bold: true, Height: 3.2, Most: w}, heading)
	c.to = c.to.After(geom.Scale(c.k, c.k))
	c.draw()
}
