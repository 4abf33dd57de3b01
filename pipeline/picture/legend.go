package picture

import (
	"cmp"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/geom/letters"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

// foot draws the scale bar and the legend of lines, and gives the y below them.
func (c *Canvas) foot(p *pattern.Pattern, k, y float64, opt Options) float64 {
	used := map[look.Kind]bool{}
	for i := range p.Pieces {
		kindsOf(&p.Pieces[i], used)
	}
	for i := 0; opt.Beside != nil && i < len(opt.Beside.Pieces); i++ {
		kindsOf(&opt.Beside.Pieces[i], used)
	}
	return c.footer(used, k, y, opt)
}

func kindsOf(p *pattern.Piece, used map[look.Kind]bool) {
	mark := func(k look.Kind, yes bool) {
		if yes {
			used[k] = true
		}
	}
	mark(look.Cut, p.Cut != nil)
	mark(look.Sew, len(p.Sew) > 0)
	mark(look.Notch, len(p.Notches) > 0)
	mark(look.Cutout, len(p.Cutouts) > 0)
	mark(look.Fold, p.Fold != nil)
	mark(look.Grain, p.Grain != nil)
	mark(look.Drill, len(p.Drills) > 0)
	for _, m := range p.Marks {
		used[look.KindOf(m.Role, m.Label)] = true
	}
}

// footer draws the scale bar and a sample of each kind of line in use, named.
func (c *Canvas) footer(used map[look.Kind]bool, k, y float64, opt Options) float64 {
	const height = 10.0
	x := gutter + c.scaleBar(gutter, y+14, k, opt) + 40
	for _, form := range look.Forms() {
		if !used[form.Kind] {
			continue
		}
		if form.Kind == look.Before && opt.Before != "" {
			form.Words = opt.Before
		}
		c.Lines = append(c.Lines, form.Words)
		w := letters.Width(form.Words, height)
		if x+sampleLength+8+w > c.Width-gutter/2 {
			x, y = gutter, y+22
		}
		c.sample(form.Kind, orb.Point{x, y + 10})
		c.text(orb.Point{x + sampleLength + 8, y + 14}, form.Words, height, look.Slate, leftOf)
		x += sampleLength + 8 + w + 24
	}
	return y + 44
}

// sampleLength is the length of a line in a legend, enough for the dashes of each kind.
const sampleLength = 50.0

// sample draws a line as it appears in the picture.
func (c *Canvas) sample(k look.Kind, at orb.Point) {
	ink, end := inkOf(k), orb.Point{at[0] + sampleLength, at[1]}
	line := geom.Path{Points: []orb.Point{at, end}}
	switch k {
	case look.Drill:
		c.cross(geom.Lerp(at, end, 0.5), ink)
		return
	case look.Notch:
		at, end = orb.Point{at[0] + sampleLength/2, at[1] - 5}, orb.Point{at[0] + sampleLength/2, at[1] + 5}
		line.Points = []orb.Point{at, end}
	case look.Grain:
		c.head("", ink, at, end)
		c.head("", ink, end, at)
	case look.Fold:
		c.bracket("", ink, at, end, orb.Point{0, -1})
	}
	for _, e := range look.Lines(k, line) {
		c.add("", ink, false, e.Points, e.Closed)
	}
}

// scaleBar draws a round length in a unit, and gives its width.
func (c *Canvas) scaleBar(x, y, k float64, opt Options) float64 {
	word := cmp.Or(opt.Unit, "mm")
	unit := map[string]float64{"mm": 1, "cm": 10, "in": 25.4}[word]
	n := niceBelow(170 / (k * unit))
	w := n * unit * k
	ink := Ink{Colour: look.Dark, Width: 1.6}
	c.add("scale", ink, false, []orb.Point{{x, y - 6}, {x, y}, {x + w, y}, {x + w, y - 6}}, false)
	c.text(orb.Point{x + w/2, y - 5}, fmt.Sprintf("%g %s", n, word), 9, look.Dark, middle)
	return w
}

// niceBelow is the largest of 1, 2, 5 times a power of ten that is not above v.
func niceBelow(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{5, 2} {
		if m*p <= v {
			return m * p
		}
	}
	return p
}
