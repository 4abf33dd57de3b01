package sheets

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// The sides of the two test squares, mm.
const (
	squareMM = 100.0
	squareIn = 4 * 25.4
)

// firstHigh is how long the first page of a roll is, without its margins, mm.
const firstHigh = 253.0

// first draws the first sheet: the test squares, what to do, the pieces and the map.
func (b *book) first(title string) {
	_, h := b.trueInk()
	if b.opt.Paper.Roll {
		h = math.Min(h, firstHigh)
	}
	frame := b.begin(h)
	frame.Min[0] -= side
	frame.Max[1] += head
	left, right, low, top := frame.Min[0], frame.Max[0], frame.Min[1], frame.Max[1]
	d := b.d
	d.text(orb.Point{left, top - 5.5}, lettering{bold: true, height: 5, most: right - left}, title)
	d.text(orb.Point{left, top - 10}, lettering{height: 2.3, most: right - left}, b.summary())

	upper := top - 13
	list := orb.Bound{Min: orb.Point{left + squareMM + 5, upper - squareMM}, Max: orb.Point{right, upper}}
	chart := orb.Bound{Min: orb.Point{left, low}, Max: orb.Point{right - squareIn - 5, upper - squareMM - 5}}
	inch := orb.Point{right - squareIn - 0.2, low + 0.2}
	if chart.Max[1] < low+squareIn { // a sheet that is wider than high: the squares stand side by side
		inch = orb.Point{right - squareIn - 0.2, upper - squareIn}
		below := upper - squareIn - 4
		list = orb.Bound{Min: orb.Point{left, low}, Max: orb.Point{left + (right-left)/2 - 3, below}}
		chart = orb.Bound{Min: orb.Point{left + (right-left)/2 + 3, low}, Max: orb.Point{right, below}}
	}
	b.square(orb.Point{left + 0.2, upper - squareMM}, squareMM, "100 mm", []string{
		"Print at 100 %: \"actual size\", no scaling,", "no \"fit to page\"; on one side of the paper.", "",
		"Measure both sides of both squares", "with a steel rule, from line to line.", "",
		"Less than 99.5 mm or more than 100.5 mm:", "do not tape the sheets. Print them again."})
	b.square(inch, squareIn, "4 in", append([]string{
		"Right within 1/64 in.", "",
		fmt.Sprintf("The sheets overlap by %s mm.", num(b.arranged.grid.overlap)), "Cut a sheet along its left and upper frame,", "lay it on its neighbours' grey strips",
		"so that the marks of the same number meet,", "and tape it.", ""}, b.opt.Measured...))
	b.list(list)
	b.chart(chart)
}

// num writes a number of mm without needless noughts.
func num(v float64) string { return strings.TrimSuffix(fmt.Sprintf("%.1f", v), ".0") }

// summary says how many sheets there are and how they lie.
func (b *book) summary() string {
	sx, sy := b.arranged.grid.step()
	words := fmt.Sprintf("%s of pattern, in %s and %s", count(b.Sheets, "sheet"), count(b.Rows, "row"), count(b.Columns, "column"))
	if b.Blank > 0 {
		words += fmt.Sprintf("; %s blank and left out", isAre(b.Blank))
	}
	return words + fmt.Sprintf(". The next column begins %s mm to the right, the next row %s mm down.", pattern1(sx), pattern1(sy))
}

func pattern1(v float64) string { return fmt.Sprintf("%.1f", v) }

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func isAre(n int) string {
	if n == 1 {
		return "1 place is"
	}
	return fmt.Sprintf("%d places are", n)
}

// square draws a test square, its lower left corner at a place, with its length on two sides and words inside.
func (b *book) square(at orb.Point, size float64, length string, words []string) {
	d := b.d
	d.stroke(thick, box(orb.Bound{Min: at, Max: orb.Point{at[0] + size, at[1] + size}}))
	d.text(orb.Point{at[0] + size/2, at[1] + 2}, lettering{bold: true, height: 4, from: 0.5}, length)
	d.text(orb.Point{at[0] + 6, at[1] + size/2}, lettering{bold: true, height: 4, from: 0.5, angle: 90}, length)
	y := at[1] + size - 12
	for _, w := range words {
		d.text(orb.Point{at[0] + 12, y}, lettering{height: 2.9, most: size - 16}, w)
		y -= 5.4
	}
}

// list writes the pieces to cut.
func (b *book) list(in orb.Bound) {
	d, y := b.d, in.Max[1]-4
	room := in.Max[0] - in.Min[0]
	line := func(l lettering, text string) {
		if y >= in.Min[1] {
			l.most = room
			d.text(orb.Point{in.Min[0], y}, l, text)
		}
		y -= l.height * 1.75
	}
	line(lettering{bold: true, height: 3.2}, "Pieces to cut")
	if b.set.Net {
		line(lettering{bold: true, height: 2.6}, "No seam allowance: the outlines are sew lines.")
	}
	// Everything must fit: many pieces are written smaller.
	lines := len(b.set.Pieces) + len(b.set.Cloth) + 3
	height := math.Min(2.5, (y-in.Min[1])/float64(lines)/1.75)
	for _, p := range b.set.Pieces {
		words := p.Name + ": " + p.Words
		if p.Cloth != "" {
			words += ", of " + p.Cloth
		}
		line(lettering{height: height}, words)
	}
	if len(b.set.Cloth) > 0 {
		y -= height
		line(lettering{bold: true, height: height * 1.2}, "Cloth to buy")
		for _, c := range b.set.Cloth {
			line(lettering{height: height}, c)
		}
	}
}

// chart draws the map of all sheets with the pieces on them.
func (b *book) chart(in orb.Bound) {
	a, d := &b.arranged, b.d
	d.text(orb.Point{in.Min[0], in.Max[1] - 4}, lettering{bold: true, height: 3.2}, "Map of the sheets")
	in.Max[1] -= 7
	sx, sy := a.grid.step()
	wide, high := float64(b.Columns-1)*sx+a.grid.wide, float64(b.Rows-1)*sy+a.grid.high
	if b.opt.Paper.Roll {
		high = 0
		for i := range a.pieces {
			high = math.Max(high, -a.pieces[i].box.Min[1])
		}
	}
	k := math.Min((in.Max[0]-in.Min[0]-1)/wide, (in.Max[1]-in.Min[1]-1)/high)
	to := geom.Translate(in.Min[0]+0.5, in.Max[1]-0.5).After(geom.Scale(k, k))
	for row := range b.Rows {
		for col := range b.Columns {
			c := cell{col, row}
			part := a.grid.box(c)
			part.Min[1] = math.Max(part.Min[1], -high)
			at := box(part).Apply(to)
			if !slices.Contains(a.sheets, c) {
				mid := part.Center()
				d.text(to.Apply(mid), lettering{height: math.Min(2.2, 36*k), from: 0.5, most: a.grid.wide * k * 0.9}, "blank")
				continue
			}
			d.stroke(thin, at)
			height := math.Min(4, 45*k)
			d.text(to.Apply(orb.Point{part.Min[0] + 14, part.Max[1] - 14 - height/k}), lettering{bold: true, shade: 0.6, height: height}, c.name())
		}
	}
	for i := range a.pieces {
		p := &a.pieces[i]
		for _, m := range b.shapes[p.ready].members {
			d.stroke(thick, m.piece.Outline.Apply(to.After(p.place).After(m.align)).Thin(0.05))
		}
		name := b.shapes[p.ready].Name
		wide := (p.box.Max[0] - p.box.Min[0]) * k
		l := lettering{height: math.Min(2.2, 30*k), from: 0.5, most: math.Max(wide*0.9, 4)}
		d.text(to.Apply(p.box.Center()), l, name)
	}
}
