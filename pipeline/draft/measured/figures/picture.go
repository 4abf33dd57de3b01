package figures

import (
	"cmp"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/look"
)

// pictureSize are lengths of a piece's picture, in its own units.
type pictureSize struct {
	wide, high float64 // of the whole picture at most
	left, rim  float64 // what is kept beside the piece, at the left and at its other sides
	away       float64 // so far outside the piece the places along the two measuring lines are told
	over       float64 // so far beyond the piece these lines run
	most       float64 // words that find no place nearer to what they belong to are left out; 0 for none
	fonts      map[string]float64
}

// The heights of letters by class are as the styles of the pages have them.
var (
	onPaper = pictureSize{652, 834, 92, 92, 54, 24, 0, map[string]float64{"word": 10, "length": 11}}
	onPhone = pictureSize{326, 470, 0, 52, 30, 10, 60, map[string]float64{"word": 12, "length": 13}}
)

// How much of its letters' height a word takes, at most of the fonts that browsers take for sans-serif: each letter across
// and the widest ones, the whole from the lowest to the highest, and what hangs below the line on which it stands.
const (
	letterWide   = 0.66
	widestLetter = 1.0
	wordHigh     = 1.0
	wordBelow    = 0.24
)

// picturer draws one piece, mm with y up, into a box of the page.
type picturer struct {
	pictureSize
	b         strings.Builder
	scale     float64
	box       orb.Bound
	lettering look.Lettering
	words     []words
}

// words wait until all that has a fixed place is drawn.
type words struct {
	text, class string
	at          orb.Point // in the picture
	angle       float64   // where they stand if that is free
}

// Drawing is a large picture of the piece with all that is marked on it, and its lengths, as SVG.
func (p PieceFigures) Drawing() template.HTML { return p.picture(onPaper) }

// SmallDrawing is the same as wide as a phone, with letters as large; words for which it has no room are left out.
func (p PieceFigures) SmallDrawing() template.HTML {
	size := onPhone
	for _, r := range p.Marking.Outline {
		size.left = math.Max(size.left, size.letters("word", unbracketed(r.Down))+6+size.away)
	}
	return p.picture(size)
}

func (p PieceFigures) picture(size pictureSize) template.HTML {
	line := p.drawn.EdgeLine()
	if line == nil {
		return ""
	}
	d := picturer{pictureSize: size, box: line.Bound()}
	w, h := d.box.Max[0]-d.box.Min[0], d.box.Max[1]-d.box.Min[1]
	d.scale = math.Min((d.wide-d.left-d.rim)/math.Max(w, geom.Tiny), (d.high-2*d.rim)/math.Max(h, geom.Tiny))
	d.lettering.Within.Max = orb.Point{math.Ceil(d.scale*w + d.left + d.rim), math.Ceil(d.scale*h + 2*d.rim)}
	fmt.Fprintf(&d.b, `<svg class="chalk" width="%.0f" height="%.0f" viewBox="0 0 %[1]v %[2]v" role="img" aria-label="%s, with its marks and lengths">`,
		d.lettering.Within.Max[0], d.lettering.Within.Max[1], template.HTMLEscapeString(p.Name))
	d.measures(p.Marking, d.scale*w, d.scale*h)
	d.outline(p, *line)
	for _, t := range p.drawn.Darts {
		d.path(look.Of(look.Dart), geom.Path{Points: []orb.Point{t.A, t.Apex, t.B}})
		d.circle(t.Apex, 3)
	}
	for _, m := range p.drawn.Marks {
		k := look.KindOf(m.Role, m.Label)
		for _, l := range look.Lines(k, m.Path) {
			d.path(look.Of(k), l)
		}
		if k != look.PleatFold && k != look.Placement && k != look.LaidTo && k != look.Dart && k != look.Button && len(m.Path.Points) > 1 {
			q, _ := m.Path.At(m.Path.Length() / 2)
			d.write(q, m.Label, "word", -math.Pi/2)
		}
	}
	for _, c := range p.drawn.Cutouts {
		d.path(look.Of(look.Cutout), c)
	}
	if g := p.drawn.Grain; g != nil {
		f := look.Of(look.Grain)
		d.path(f, geom.Path{Points: []orb.Point{g.A, g.B}})
		for _, l := range [][2]orb.Point{{g.A, g.B}, {g.B, g.A}} {
			d.head(f, l[0], l[1])
		}
		d.write(geom.Lerp(g.A, g.B, 0.7), "grain", "word", 0)
	}
	for _, q := range p.drawn.Drills {
		at := d.at(q.At)
		fmt.Fprintf(&d.b, `<path class="mark" d="M%.1f %.1fh8M%.1f %.1fv8"/>`, at[0]-4, at[1], at[0], at[1]-4)
	}
	d.notches(p, *line)
	for _, l := range p.drawn.Points {
		at := d.at(l.At)
		if !p.Marking.told[l.Text] || !d.lettering.Within.Contains(at) {
			continue
		}
		d.circle(l.At, 1.6)
		d.lettering.Take(orb.Bound{Min: orb.Point{at[0] - 2, at[1] - 2}, Max: orb.Point{at[0] + 2, at[1] + 2}})
		d.write(l.At, l.Text, "word", -math.Pi/4)
	}
	d.letter()
	d.b.WriteString("</svg>")
	return template.HTML(d.b.String())
}

func (d *picturer) at(q orb.Point) orb.Point {
	return orb.Point{d.left + d.scale*(q[0]-d.box.Min[0]), d.rim + d.scale*(d.box.Max[1]-q[1])}
}

// measures draws the two lines from which the list measures, at the piece's left and at its top, and outside them how far
// across and down each place of the outline lies, the farthest always. long and high are the piece's in the picture.
func (d *picturer) measures(m MarkingOut, long, high float64) {
	thin := func(x0, y0, x1, y1 float64, dash string) {
		fmt.Fprintf(&d.b, `<path class="mark" stroke-width="0.6"%s d="M%.1f %.1fL%.1f %.1f"/>`, dash, x0, y0, x1, y1)
	}
	words := func(x, y float64, anchor, text string) {
		fmt.Fprintf(&d.b, `<text class="word measure" text-anchor="%s" x="%.1f" y="%.1f">%s</text>`, anchor, x, y, template.HTMLEscapeString(text))
		if anchor == "end" {
			x -= d.letters("word", text) / 2
		}
		d.lettering.Take(d.boxOf("word", text, x, y))
	}
	const dash = ` stroke-dasharray="2 3"`
	left, top := d.left, d.rim
	thin(left-d.over, top, left+long+d.over, top, dash)
	thin(left, top-d.over, left, top+high+d.over, dash)
	k := d.scale * m.scale * m.unit.mm // of the picture in the draft's unit
	var across, down []tick
	room := 0.0
	for _, r := range m.Outline {
		across, down = append(across, tick{k * r.X, unbracketed(r.Across)}), append(down, tick{k * r.Y, unbracketed(r.Down)})
		room = math.Max(room, d.letters("word", unbracketed(r.Across))+4)
	}
	thin(left, top-d.away, left+long, top-d.away, "")
	for _, t := range apart(across, room) {
		thin(left+t.at, top-d.away-3, left+t.at, top-d.away+3, "")
		words(left+t.at, top-d.away-6, "middle", t.words)
	}
	thin(left-d.away, top, left-d.away, top+high, "")
	for _, t := range apart(down, 1.3*d.fonts["word"]) {
		thin(left-d.away-3, top+t.at, left-d.away+3, top+t.at, "")
		words(left-d.away-6, top+t.at+3.5, "end", t.words)
	}
	// The names of the two lines stand beyond their ends, that of the level one beneath it where there is no room behind.
	at := orb.Point{left + long + d.over, top - d.away + 3.5}
	if half := d.letters("word", "across") / 2; d.over < half {
		at = orb.Point{left + long + d.rim - half, top - d.away + 3.5 + d.fonts["word"]}
	}
	words(at[0], at[1], "middle", "across")
	words(left-d.away, top+high+d.over+d.fonts["word"]+3, "middle", "down")
}

// tick is a length from a measuring line: where it lies in the picture, and as a tape reads it.
type tick struct {
	at    float64
	words string
}

// apart leaves out lengths that would stand too near to one another, and never the greatest.
func apart(all []tick, room float64) []tick {
	slices.SortStableFunc(all, func(a, b tick) int { return cmp.Compare(a.at, b.at) })
	var out []tick
	for i, t := range all {
		for i == len(all)-1 && len(out) > 0 && t.at-out[len(out)-1].at < room {
			out = out[:len(out)-1]
		}
		if len(out) == 0 || t.at-out[len(out)-1].at >= room {
			out = append(out, t)
		}
	}
	return out
}

// outline draws each edge as what it is, with its length as it is chalked outside it.
func (d *picturer) outline(p PieceFigures, line geom.Path) {
	outside := 1.0
	if line.SignedArea() > 0 {
		outside = -1
	}
	edges := p.drawn.Edges
	starts := line.Starts()
	for i, ed := range edges {
		from, to := starts[ed.First], starts[edges[(i+1)%len(edges)].First]
		if to <= from {
			to += line.Length()
		}
		part := line.Sub(from, to)
		k := look.Sew
		if ed.Fold {
			k = look.Fold
		}
		d.path(look.Of(k), part)
		at, way := part.At(part.Length() / 2)
		away := geom.Mul(geom.Left(way), outside)
		words := unbracketed(p.Edges[i].Chalk)
		if ed.Fold {
			words = "fold " + words
		}
		d.write(at, words, "length", math.Atan2(-away[1], away[0])) // y runs down in the picture
	}
}

// notches draws each notch as a short stroke out of the outline.
func (d *picturer) notches(p PieceFigures, line geom.Path) {
	outside := 1.0
	if line.SignedArea() > 0 {
		outside = -1
	}
	for _, n := range p.drawn.Notches {
		_, way := line.At(line.Nearest(n.At).S)
		d.path(look.Of(look.Notch), geom.Path{Points: []orb.Point{n.At, geom.Add(n.At, geom.Mul(geom.Left(way), outside*9/d.scale))}})
	}
}

func (d *picturer) path(f look.Form, p geom.Path) {
	fmt.Fprintf(&d.b, `<path class="mark" stroke-width="%.1f"`, f.Width)
	if len(f.Dash) > 0 {
		d.b.WriteString(` stroke-dasharray="`)
		for i, v := range f.Dash {
			if i > 0 {
				d.b.WriteByte(' ')
			}
			fmt.Fprintf(&d.b, "%.0f", v)
		}
		d.b.WriteString(`"`)
	}
	d.b.WriteString(` d="M`)
	for _, q := range p.Points {
		at := d.at(q)
		fmt.Fprintf(&d.b, "%.1f %.1f ", at[0], at[1])
	}
	if p.Closed {
		d.b.WriteString("Z")
	}
	d.b.WriteString(`"/>`)
}

// head is an arrow head at a of a line to b.
func (d *picturer) head(f look.Form, a, b orb.Point) {
	back := geom.Mul(geom.Unit(geom.Sub(b, a)), 9/d.scale)
	d.path(f, geom.Path{Points: []orb.Point{geom.Add(a, geom.Rotate(0.4).Vector(back)), a, geom.Add(a, geom.Rotate(-0.4).Vector(back))}})
}

func (d *picturer) circle(q orb.Point, r float64) {
	at := d.at(q)
	fmt.Fprintf(&d.b, `<circle class="mark" cx="%.1f" cy="%.1f" r="%.1f"/>`, at[0], at[1], r)
}

// write has words stand beside a place, at an angle from it where that is free, y down.
func (d *picturer) write(q orb.Point, text, class string, angle float64) {
	d.words = append(d.words, words{text, class, d.at(q), angle})
}

// letter writes what waits: lengths first, so that they stand nearest to their edges.
func (d *picturer) letter() {
	slices.SortStableFunc(d.words, func(a, b words) int { return cmp.Compare(a.class, b.class) })
	for _, w := range d.words {
		long, high := d.letters(w.class, w.text), wordHigh*d.fonts[w.class]
		var box orb.Bound
		led := false
		if d.most == 0 {
			box, led = d.lettering.Place(w.at, long, high, w.angle)
		} else {
			var ok bool
			if box, led, ok = d.lettering.Near(w.at, long, high, w.angle, d.most); !ok {
				continue
			}
		}
		if led {
			to := orb.Point{math.Max(box.Min[0], math.Min(w.at[0], box.Max[0])), math.Max(box.Min[1], math.Min(w.at[1], box.Max[1]))}
			fmt.Fprintf(&d.b, `<path class="mark" stroke-width="0.5" d="M%.1f %.1fL%.1f %.1f"/>`, w.at[0], w.at[1], to[0], to[1])
		}
		fmt.Fprintf(&d.b, `<text class="%s" text-anchor="middle" x="%.1f" y="%.1f">%s</text>`, w.class, box.Center()[0], box.Max[1]-wordBelow*d.fonts[w.class], template.HTMLEscapeString(w.text))
	}
}

// boxOf is what words take whose middle stands at x, on a line at y.
func (s pictureSize) boxOf(class, text string, x, y float64) orb.Bound {
	long, high := s.letters(class, text), s.fonts[class]
	return orb.Bound{Min: orb.Point{x - long/2, y - (wordHigh-wordBelow)*high}, Max: orb.Point{x + long/2, y + wordBelow*high}}
}

// letters is how wide a word is.
func (s pictureSize) letters(class, text string) float64 {
	wide := float64(strings.Count(text, "W")+strings.Count(text, "M")+strings.Count(text, "m")) * (widestLetter - letterWide)
	return s.fonts[class] * (wide + letterWide*float64(utf8.RuneCountInString(text)))
}
