package picture

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/geom/letters"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
)

// Layer is a set of lines of one kind in the device's frame, mm.
type Layer struct {
	Kind  look.Kind
	Paths []geom.Path
}

// Mark is a place to be circled; the meaning of its number is told elsewhere.
type Mark struct {
	At       orb.Point
	Severity pattern.Severity
}

// Words are lettered among the lines; At is the middle of their baseline, turned by radians; Height in mm.
type Words struct {
	Text         string
	At           orb.Point
	Turn, Height float64
}

// View is what lies on a device: x along its length, y across.
type View struct {
	Title string
	// Strokes is true where the lines are strokes as the tool makes them, already dashed, so that they are not dashed
	// again.
	Strokes bool
	// Width and Length are the device's reach in mm; Length 0 takes the length of the lines.
	Width, Length float64
	// Laid means that Length and Width are those of a lay, and are told exactly, in inches as fractions.
	Laid bool
	// End is where the material ends before the lines do, mm from its beginning, 0 where it does not. Said are further
	// lines of words; Nap draws the direction of the nap, from the beginning to the end.
	End  float64
	Said []string
	Nap  bool
	// NotCut are lines of the pieces that the device does not make; they are drawn pale under the others.
	NotCut []Layer
	Layers []Layer
	Marks  []Mark
	Words  []Words
	// Pieces can be pointed at by their numbers in a page.
	Pieces []NumberedPiece
	// Remnant is drawn in place of a material that reaches over the whole bed.
	Remnant Remnant
}

// Remnant is a rectangle of material with its number, 0 for none, mm. Its corner lies at 0,0, its length along x.
type Remnant struct {
	No            int64
	Length, Width float64
}

// broken wraps words into lines of at most that width; a word that is wider has a line of its own.
func broken(words string, height, most float64) (lines []string) {
	if words != "" && letters.Width(words, height) <= most {
		return []string{words}
	}
	for word := range strings.FieldsSeq(words) {
		if n := len(lines); n > 0 && letters.Width(lines[n-1]+" "+word, height) <= most {
			lines[n-1] += " " + word
		} else {
			lines = append(lines, word)
		}
	}
	return lines
}

// Device draws a view, with the bed or the paper under it.
func Device(v View, opt Options) *Canvas {
	b := v.bound()
	k := (pageWidth - 2*gutter) / math.Max(b.Max[0]-b.Min[0], 1)
	k = math.Min(k, 1100/math.Max(b.Max[1]-b.Min[1], 1))
	c := &Canvas{Width: pageWidth, Title: v.Title, Scale: k}
	h := k * (b.Max[1] - b.Min[1])
	f := frameAt(b, gutter, gutter, pageWidth-2*gutter, h, k)
	end := b.Max[0]
	if v.End > 0 {
		end = v.End
	}
	sheet := []orb.Point{{0, 0}, {end, 0}, {end, b.Max[1]}, {0, b.Max[1]}}
	c.add("", Ink{Colour: look.Bed}, true, geom.Path{Points: sheet}.Apply(f.m).Points, true)
	if v.Remnant.No != 0 {
		c.remnant(f, v.Remnant, opt)
		lies := fmt.Sprintf("remnant %d, %s long and %s wide, lies with its corner at 0,0, the lower left here, its length along x, to the right", v.Remnant.No,
			length(v.Remnant.Length, opt), length(v.Remnant.Width, opt))
		v.Said, c.Title = append([]string{lies}, v.Said...), c.Title+"; "+lies
	}
	used := map[look.Kind]bool{}
	crowded, strokes := v.points() > manyPoints, 0
	for _, l := range v.NotCut {
		ink := inkOf(look.NotCut)
		ink.Dash = inkOf(l.Kind).Dash
		for _, p := range l.Paths {
			if crowded {
				p = seen(p, 0.25/k)
			}
			c.path(f, string(look.NotCut), ink, p)
			used[look.NotCut] = true
		}
	}
	for _, l := range v.Layers {
		ink := inkOf(l.Kind)
		ink.Width = math.Max(0.7, ink.Width*0.75)
		if v.Strokes {
			ink.Dash = nil
		}
		for _, p := range l.Paths {
			if crowded {
				p = seen(p, 0.25/k)
			}
			c.path(f, string(l.Kind), ink, p)
			used[l.Kind] = true
			if strokes++; v.Strokes {
				c.stroke(strokes, len(p.Points) > 0)
			}
		}
	}
	for _, w := range v.Words {
		strokes, width := letters.Strokes(w.Text, w.Height)
		place := geom.Translate(w.At[0], w.At[1]).After(geom.Rotate(w.Turn)).After(geom.Translate(-width/2, 0))
		c.captions = append(c.captions, placedWords{f.at(place.Apply(orb.Point{})), w.Text, w.Height * k, width * k, w.Turn * 180 / math.Pi, look.Dark})
		for _, p := range strokes {
			c.path(f, "words", Ink{Colour: look.Dark, Width: 0.8}, p.Apply(place))
		}
	}
	if v.End > 0 {
		c.add("cloth-end", Ink{Colour: look.Crimson, Width: 3}, false, []orb.Point{f.at(orb.Point{v.End, 0}), f.at(orb.Point{v.End, v.Width})}, false)
	}
	if v.Nap {
		c.nap(f.at(orb.Point{0, v.Width})[0])
	}
	for i, m := range v.Marks {
		c.fault(f, pattern.Finding{At: &m.At, Severity: m.Severity}, i+1, 0)
	}
	for _, p := range v.Pieces {
		c.pointed(p.Number, p.Name, p.Outline.Apply(f.m).Points)
	}
	y := gutter + h + 26
	for i, words := range append([]string{v.Title}, v.Said...) {
		height := saidHeight
		if i == 0 {
			height = 12
		}
		for _, line := range broken(words, height, pageWidth-2*gutter) {
			c.text(orb.Point{gutter, y}, line, height, look.Dark, leftOf)
			y += 16
		}
	}
	size := v.size(b, opt)
	if v.Remnant.No != 0 {
		size = "the machine reaches " + size
	}
	c.text(orb.Point{gutter, y + 2}, size, 10, look.Slate, leftOf)
	c.Height = c.footer(used, k, y+16, opt)
	return c
}

// remnant draws the rectangle of a remnant with its measures, and a ring round the corner at 0,0.
func (c *Canvas) remnant(f frame, r Remnant, opt Options) {
	edge := []orb.Point{f.at(orb.Point{0, 0}), f.at(orb.Point{r.Length, 0}), f.at(orb.Point{r.Length, r.Width}), f.at(orb.Point{0, r.Width})}
	c.add("", Ink{Colour: look.Paper}, true, edge, true)
	c.add("remnant", Ink{Colour: look.Dark, Width: 2.4}, false, edge, true)
	c.add("remnant", Ink{Colour: look.Dark, Width: 2.4}, false, circle(edge[0], 7), true)
	words := fmt.Sprintf("remnant %d: %s long, %s wide", r.No, length(r.Length, opt), length(r.Width, opt))
	c.text(orb.Point{edge[3][0], edge[3][1] - 5}, words, 11, look.Dark, leftOf)
}

// stroke marks the last line drawn as stroke n, counted from 1; drawn is false where the stroke has no points.
func (c *Canvas) stroke(n int, drawn bool) {
	last := &c.shapes[len(c.shapes)-1]
	switch {
	case !drawn: // then the next line does not continue the numbering of the last one
		last.alone = true
	case last.first == 0:
		last.first = n
	}
}

// saidHeight is the height of the letters of View.Said.
const saidHeight = 10.0

// nap draws above the material, from its beginning at x, an arrow along the nap: the direction in which all one-way
// pieces point.
func (c *Canvas) nap(x float64) {
	const y, length = gutter / 2, 110.0
	ink := Ink{Colour: look.Dark, Width: 1.6}
	from, to := orb.Point{x, y}, orb.Point{x + length, y}
	c.add("nap", ink, false, []orb.Point{from, to}, false)
	c.head("nap", ink, from, to)
	c.text(orb.Point{x + length + 10, y + 4}, "nap", 11, look.Dark, leftOf)
}

// manyPoints is the number of points from which points too close to be seen apart are left out.
const manyPoints = 100_000

func (v View) points() (n int) {
	for _, l := range slices.Concat(v.NotCut, v.Layers) {
		for _, p := range l.Paths {
			n += len(p.Points)
		}
	}
	return n
}

// seen leaves out points closer than step to the last one kept; the ends stay.
func seen(p geom.Path, step float64) geom.Path {
	if len(p.Points) < 3 {
		return p
	}
	q := geom.Path{Closed: p.Closed, Points: []orb.Point{p.Points[0]}}
	for _, at := range p.Points[1 : len(p.Points)-1] {
		if geom.Dist(at, q.Points[len(q.Points)-1]) >= step {
			q.Points = append(q.Points, at)
		}
	}
	q.Points = append(q.Points, p.Points[len(p.Points)-1])
	return q
}

func (v View) bound() orb.Bound {
	b := orb.Bound{Min: orb.Point{0, 0}, Max: orb.Point{math.Max(v.Length, v.Remnant.Length), math.Max(v.Width, v.Remnant.Width)}}
	for _, l := range v.Layers {
		for _, p := range l.Paths {
			if len(p.Points) > 0 {
				b = b.Union(p.Bound())
			}
		}
	}
	return b
}

func (v View) size(b orb.Bound, opt Options) string {
	l, w := b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]
	if v.Laid {
		l, w = v.Length, v.Width
	}
	switch opt.Unit {
	case "in":
		if v.Laid {
			return fmt.Sprintf("%s in long, %s in across", pattern.Inches(l), pattern.Inches(w))
		}
		return fmt.Sprintf("%.2f in long, %.2f in across", l/25.4, w/25.4)
	case "cm":
		return fmt.Sprintf("%.1f cm long, %.1f cm across", l/10, w/10)
	}
	return fmt.Sprintf("%.0f mm long, %.0f mm across", l, w)
}
