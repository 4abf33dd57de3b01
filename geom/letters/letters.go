// Package letters draws text as single lines, for a pen: ASCII in the simplex letters of A. V.
// Hershey (see CREDIT.md), accented Latin letters put together from a letter and its marks, and
// the usual signs. Text is only geometry here: no byte of it means anything else.
package letters

import (
	"slices"
	"strings"
	"unicode"

	"github.com/paulmach/orb"
	"golang.org/x/text/unicode/norm"

	"tracewheel/geom"
)

// Strokes draws one line of text with its baseline from (0, 0) along x and capitals height mm
// high. The strokes are open or closed paths in the order of writing; width is how far the text
// runs in mm. What cannot be drawn becomes a box as high as a capital. Line breaks
// and tabs become blanks.
func Strokes(text string, height float64) (strokes []geom.Path, width float64) {
	scale := height / capHeight
	for _, c := range clusters(text) {
		g, _ := c.glyph()
		for _, line := range g.lines {
			strokes = append(strokes, stroke(line, scale, width))
		}
		width += g.width * scale
	}
	return strokes, width
}

// Width is how far the text runs in mm at that height of capitals.
func Width(text string, height float64) float64 {
	_, width := Strokes(text, height)
	return width
}

func stroke(line []orb.Point, scale, x float64) geom.Path {
	p := geom.Path{Points: make([]orb.Point, 0, len(line))}
	for _, q := range line {
		p.Points = append(p.Points, orb.Point{q[0]*scale + x, q[1] * scale})
	}
	if n := len(p.Points); n > 3 && line[0] == line[n-1] {
		p.Points, p.Closed = p.Points[:n-1], true
	}
	return p
}

// cluster is a character with the marks on it.
type cluster struct {
	base  rune
	marks []rune
}

// clusters takes the text apart; characters that are drawn whole stay whole.
func clusters(text string) []cluster {
	var out []cluster
	for _, r := range norm.NFC.String(text) {
		if n := len(out); n > 0 && unicode.Is(unicode.Mn, r) {
			out[n-1].marks = append(out[n-1].marks, r)
			continue
		}
		parts := []rune(norm.NFD.String(string(r)))
		c := cluster{base: parts[0]}
		for _, m := range parts[1:] {
			if !unicode.Is(unicode.Mn, m) {
				c = cluster{base: r}
				break
			}
			c.marks = append(c.marks, m)
		}
		out = append(out, c)
	}
	return out
}

// glyph puts the cluster together; missing are its characters that could not be drawn.
func (c cluster) glyph() (g glyph, missing []rune) {
	base := c.base
	if len(c.marks) > 0 && slices.ContainsFunc(c.marks, sitsOnTop) {
		switch base {
		case 'i':
			base = 'ı'
		case 'j':
			base = 'ȷ'
		}
	}
	g, ok := lookup(base)
	if !ok {
		return box, []rune{composed(c)}
	}
	if len(c.marks) == 0 {
		return g, nil
	}
	for _, m := range c.marks {
		form, ok := marks[m]
		if !ok {
			missing = append(missing, m)
			continue
		}
		g = g.with(place(readDrawn(form), g, base, m))
	}
	return g.roomy(), missing
}

// roomy widens a narrow letter whose marks reach over its sides.
func (g glyph) roomy() glyph {
	b, ok := g.bound()
	if !ok {
		return g
	}
	left := max(0, 1-b.Min[0])
	if left == 0 && b.Max[0]+1 <= g.width {
		return g
	}
	out := g.moved(1, left, 0)
	out.width = max(g.width+left, b.Max[0]+left+1)
	return out
}

// composed is the cluster as one character where there is one, to name it as it was written.
func composed(c cluster) rune {
	whole := []rune(norm.NFC.String(string(append([]rune{c.base}, c.marks...))))
	return whole[0]
}

func sitsOnTop(m rune) bool { return !strings.ContainsRune(below, m) }

// place moves a mark to where it belongs on a letter.
func place(mark, on glyph, base, m rune) glyph {
	b, ok := on.bound()
	if !ok {
		return mark.moved(1, on.width/2, xHeight)
	}
	centre := (b.Min[0] + b.Max[0]) / 2
	switch {
	case m == '\u030c' && strings.ContainsRune("dtlL", base): // written as a stroke beside the letter
		return readDrawn("0;1,21 0,16").moved(1, min(b.Max[0]+1, on.width), 0)
	case m == '\u0327' && base == 'g':
		return readDrawn(marks['\u0312']).moved(1, centre, b.Max[1])
	case m == '\u0328':
		return mark.moved(1, b.Max[0]-3, 0)
	case !sitsOnTop(m):
		return mark.moved(1, centre, min(0, b.Min[1]))
	}
	return mark.moved(1, centre, b.Max[1])
}

// lookup finds the form of one character without marks.
func lookup(r rune) (glyph, bool) {
	if g, ok := basic[r]; ok {
		return g, true
	}
	if s, ok := drawn[r]; ok {
		return readDrawn(s), true
	}
	if b, ok := barred[r]; ok {
		return basic[b.base].with(readDrawn(b.stroke)), true
	}
	if s, ok := raised[r]; ok {
		return small(s, 9), true
	}
	if s, ok := spelled[r]; ok {
		return sideBySide(s), true
	}
	if m, ok := marks[r]; ok { // a mark with nothing to sit on
		return glyph{width: 12}.with(readDrawn(m).moved(1, 6, xHeight)), true
	}
	return compatible(r)
}

// compatible draws what Unicode calls the same text in another form: fractions, ligatures, wide
// letters.
func compatible(r rune) (glyph, bool) {
	same := norm.NFKD.String(string(r))
	if over, under, ok := strings.Cut(same, "⁄"); ok && over != "" {
		return fraction(over, under), true
	}
	if same == string(r) {
		return glyph{}, false
	}
	for _, c := range same {
		if _, ok := basic[c]; !ok {
			return glyph{}, false
		}
	}
	return sideBySide(same), true
}

func sideBySide(s string) (g glyph) {
	for _, r := range s {
		part, _ := lookup(r)
		at := g.width
		g = g.with(part.moved(1, at, 0))
		g.width = at + part.width
	}
	return g
}

// small draws at a bit over half size, dy above the baseline.
func small(s string, dy float64) glyph {
	g := sideBySide(s)
	return g.moved(0.57, 0, dy)
}

func fraction(over, under string) glyph {
	top, bottom := small(over, 9), small(under, 0)
	slash := readDrawn("8;0,0 10,21").moved(1, top.width-3, 0)
	g := top.with(slash).with(bottom.moved(1, top.width+3, 0))
	g.width = top.width + bottom.width + 3
	return g
}
