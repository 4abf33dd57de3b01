package letters

import (
	_ "embed"
	"strings"

	"github.com/paulmach/orb"
)

//go:embed simplex.txt
var simplex string

// In the font's units capitals are 21 high and stand on the baseline, small letters 14.
const (
	capHeight = 21.0
	xHeight   = 14.0
)

// glyph is a character in the font's units: x from its left side, y up from the baseline.
type glyph struct {
	lines [][]orb.Point
	width float64
}

// basic are the characters 32 to 126.
var basic = readSimplex(simplex)

func readSimplex(data string) map[rune]glyph {
	glyphs := map[rune]glyph{}
	for i, line := range strings.Split(strings.TrimSuffix(data, "\n"), "\n") {
		glyphs[rune(32+i)] = readGlyph(line)
	}
	return glyphs
}

func readGlyph(s string) glyph {
	left := float64(s[0]) - 'R'
	g := glyph{width: float64(s[1]) - 'R' - left}
	var line []orb.Point
	end := func() {
		if len(line) > 0 {
			g.lines = append(g.lines, line)
		}
		line = nil
	}
	for k := 2; k+1 < len(s); k += 2 {
		if s[k] == ' ' {
			end()
			continue
		}
		line = append(line, orb.Point{float64(s[k]) - 'R' - left, 9 - (float64(s[k+1]) - 'R')})
	}
	end()
	return g
}

// moved is the glyph scaled about its origin and then shifted; the width is scaled.
func (g glyph) moved(scale, dx, dy float64) glyph {
	out := glyph{width: g.width * scale}
	for _, line := range g.lines {
		to := make([]orb.Point, len(line))
		for i, p := range line {
			to[i] = orb.Point{p[0]*scale + dx, p[1]*scale + dy}
		}
		out.lines = append(out.lines, to)
	}
	return out
}

// with lays another glyph's lines over this one.
func (g glyph) with(o glyph) glyph {
	lines := append([][]orb.Point(nil), g.lines...)
	return glyph{lines: append(lines, o.lines...), width: g.width}
}

// bound is the box round the lines; ok is false for a blank.
func (g glyph) bound() (b orb.Bound, ok bool) {
	var all orb.MultiPoint
	for _, line := range g.lines {
		all = append(all, line...)
	}
	return all.Bound(), len(all) > 0
}

// box stands for what cannot be drawn.
var box = glyph{width: 18, lines: [][]orb.Point{{{3, 0}, {15, 0}, {15, capHeight}, {3, capHeight}, {3, 0}}}}
