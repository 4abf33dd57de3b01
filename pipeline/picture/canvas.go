// Package picture draws pieces, findings, lays and what a machine would make of them, as SVG and as
// PNG. A picture is first a Canvas - lines, discs and words in one scale - and then written in
// either form, so that both always show the same. It does not know where a picture is shown.
package picture

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/geom/letters"
	"tracewheel/pipeline/look"
)

// Ink is how a line is drawn. Width and Dash are in picture units, of which a picture is about a
// thousand wide.
type Ink struct {
	Colour look.Ink
	Width  float64
	// Dash alternates drawn and empty lengths; nil is a whole line.
	Dash []float64
}

// shape is one element of a canvas: lines of one ink, or a filled area.
type shape struct {
	ink   Ink
	fill  bool
	lines []line
	// class names the shape in SVG, so that readers of the file can find, say, the cut line.
	class string
	// handle is what the shape stands for, so that a page can highlight it; the shape is not drawn.
	handle *handle
	// finding is the number of the finding that the shape rings, 0 for none.
	finding int
	// first is the number of the first line's stroke, counted from 1; the other lines follow it. 0 where the lines are
	// no strokes. alone forbids that further lines are added.
	first int
	alone bool
}

type line struct {
	points []orb.Point
	closed bool
}

// Canvas is a picture in picture units, x to the right and y down.
type Canvas struct {
	Width, Height float64
	// Scale is the number of picture units to a millimetre, 0 where nothing is drawn to scale; it does not hold below
	// the y of ScaleTo, 0 for no such limit.
	Scale, ScaleTo float64
	// Title describes the picture for those who cannot see it.
	Title string
	// Lines are the kinds of lines that the picture shows, as its legend names them.
	Lines  []string
	shapes []shape
	// captions are the words of the shapes of class "words", for a format with text of its own.
	captions []placedWords
	coarse   float64 // as Options.Coarse
	// wordless leaves captions out.
	wordless bool
	// wraps divides captions into lines, so that narrow pieces stand close.
	wraps bool
}

func (c *Canvas) add(class string, ink Ink, fill bool, points []orb.Point, closed bool) {
	if len(points) == 0 {
		return
	}
	if n := len(c.shapes); n > 0 && !fill {
		last := &c.shapes[n-1]
		if !last.fill && !last.alone && last.class == class && sameInk(last.ink, ink) {
			last.lines = append(last.lines, line{points, closed})
			return
		}
	}
	c.shapes = append(c.shapes, shape{ink: ink, fill: fill, class: class, lines: []line{{points, closed}}})
}

func sameInk(a, b Ink) bool {
	return a.Colour == b.Colour && a.Width == b.Width && slices.Equal(a.Dash, b.Dash)
}

// circle is a polygon fine enough for any picture.
func circle(at orb.Point, r float64) []orb.Point {
	const n = 48
	pts := make([]orb.Point, n)
	for i := range pts {
		s, co := math.Sincos(2 * math.Pi * float64(i) / n)
		pts[i] = orb.Point{at[0] + r*co, at[1] + r*s}
	}
	return pts
}

// anchor says which part of a text stands at its place.
type anchor int

const (
	leftOf anchor = iota
	middle
)

// placedWords are words on a canvas: the start of their baseline, its angle in degrees, counter-clockwise as seen, and
// the width of their strokes.
type placedWords struct {
	at                  orb.Point
	words               string
	height, width, turn float64
	colour              look.Ink
}

// text writes words in single strokes, so that no font is needed where the picture is shown.
func (c *Canvas) text(at orb.Point, words string, height float64, col look.Ink, a anchor) float64 {
	strokes, width := letters.Strokes(words, height)
	if a == middle {
		at[0] -= width / 2
	}
	c.captions = append(c.captions, placedWords{at, words, height, width, 0, col})
	ink := Ink{Colour: col, Width: math.Max(0.8, height/9)}
	for _, s := range strokes {
		pts := make([]orb.Point, len(s.Points))
		for i, p := range s.Points {
			pts[i] = orb.Point{at[0] + p[0], at[1] - p[1]}
		}
		c.add("words", ink, false, pts, s.Closed)
	}
	return width
}

// frame maps millimetres with y up into a box of the canvas.
type frame struct {
	scale float64 // picture units to the mm
	m     geom.Affine
}

func frameAt(bound orb.Bound, x, y, w, h, k float64) frame {
	bw, bh := bound.Max[0]-bound.Min[0], bound.Max[1]-bound.Min[1]
	left, top := x+(w-k*bw)/2, y+(h-k*bh)/2
	return frame{scale: k, m: geom.Affine{A: k, D: -k, E: left - k*bound.Min[0], F: top + k*bound.Max[1]}}
}

func (f frame) at(p orb.Point) orb.Point { return f.m.Apply(p) }

func (c *Canvas) path(f frame, class string, ink Ink, p geom.Path) {
	q := p.Apply(f.m)
	if len(q.Points) == 1 {
		c.add(class, Ink{Colour: ink.Colour}, true, circle(q.Points[0], math.Max(1, ink.Width)), true)
		return
	}
	c.add(class, ink, false, q.Points, q.Closed)
}
