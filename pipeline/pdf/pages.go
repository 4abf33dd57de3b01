package pdf

import (
	"fmt"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/devices/paper"
	"tracewheel/geom"
)

// Columns is how many characters of the fixed-width font stand on a line of Pages.
const Columns = 96

// Pages writes a text in a fixed-width font on as many A4 pages as it takes, its tables as they stand. A line that is too
// long goes on under its own beginning. picture, where there is one, is drawn at the head of the first page: it is given a
// box and says how high it is in it, mm.
func Pages(title string, text []byte, picture func(d *Document, in orb.Bound) float64) ([]byte, error) {
	const pitch = 1.75
	d := NewDocument(title)
	l := Lettering{Mono: true}
	l.Height = 1
	l.Height = paper.BothWide / l.Width(strings.Repeat("0", Columns))
	left, low, top := (paper.A4.Width-paper.BothWide)/2, (paper.A4.Height-paper.BothHigh)/2, (paper.A4.Height+paper.BothHigh)/2
	y, pages := 0.0, 0
	page := func() {
		d.Page(paper.A4.Width, paper.A4.Height, geom.Identity)
		y = top
		if pages++; pages > 1 {
			y -= 2.3
			d.Text(orb.Point{left + paper.BothWide, y}, Lettering{Height: 2.3, From: 1, Most: paper.BothWide}, fmt.Sprintf("%s, page %d", title, pages))
			y -= 6
		}
	}
	page()
	if picture != nil {
		y -= picture(d, orb.Bound{Min: orb.Point{left, top - paper.BothHigh/2}, Max: orb.Point{left + paper.BothWide, top}}) + 4
	}
	for line := range strings.Lines(string(text)) {
		for _, part := range folded(strings.TrimRight(line, " \r\n"), Columns) {
			if y-l.Height < low {
				page()
			}
			y -= l.Height
			d.Text(orb.Point{left, y}, l, part)
			y -= (pitch - 1) * l.Height
		}
	}
	return d.Bytes()
}

// folded parts a line into some of at most so many characters; the later ones begin two further in than the first.
func folded(line string, most int) []string {
	r := []rune(line)
	if len(r) <= most {
		return []string{line}
	}
	indent := 0
	for indent < len(r) && r[indent] == ' ' {
		indent++
	}
	begin := strings.Repeat(" ", min(indent+2, most/2))
	var out []string
	for len(r) > most {
		cut := most
		for cut > most/2 && r[cut] != ' ' {
			cut--
		}
		if cut == most/2 {
			cut = most
		}
		out = append(out, string(r[:cut]))
		r = append([]rune(begin), []rune(strings.TrimLeft(string(r[cut:]), " "))...)
	}
	return append(out, string(r))
}
