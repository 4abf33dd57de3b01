package figures

import (
	"cmp"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/look"
)

// Sizes of a piece's picture, in its own units, of which the page is 640 wide.
const (
	pictureWide = 468.0
	pictureHigh = 650.0
	margin      = 92.0
	// scaleAway is how far outside the piece the places along the two measuring lines are told.
	scaleAway = 54.0
)

// picturer draws one piece, mm with y up, into a box of the page.
type picturer struct {
	b     strings.Builder
	scale float64
	box   orb.Bound
}

// Drawing is a large picture of the piece with all that is marked on it, and its lengths, as SVG.
func (p PieceFigures) Drawing() template.HTML {
	line := p.drawn.EdgeLine()
	if line == nil {
		return ""
	}
	d := picturer{box: line.Bound()}
	w, h := d.box.Max[0]-d.box.Min[0], d.box.Max[1]-d.box.Min[1]
	d.scale = math.Min(pictureWide/math.Max(w, geom.Tiny), pictureHigh/math.Max(h, geom.Tiny))
	fmt.Fprintf(&d.b, `<svg class="chalk" width="%.0f" height="%.0f" viewBox="0 0 %[1]v %[2]v" role="img" aria-label="%s, with its marks and lengths">`,
		math.Ceil(d.scale*w+2*margin), math.Ceil(d.scale*h+2*margin), template.HTMLEscapeString(p.Name))
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
			d.text(q, m.Label, "middle")
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
		d.text(geom.Lerp(g.A, g.B, 0.7), "grain", "start")
	}
	for _, q := range p.drawn.Drills {
		at := d.at(q.At)
		fmt.Fprintf(&d.b, `<path class="mark" d="M%.1f %.1fh8M%.1f %.1fv8"/>`, at[0]-4, at[1], at[0], at[1]-4)
	}
	d.notches(p, *line)
	for _, l := range p.drawn.Points {
		d.circle(l.At, 1.6)
		d.text(l.At, l.Text, "start")
	}
	d.b.WriteString("</svg>")
	return template.HTML(d.b.String())
}

func (d *picturer) at(q orb.Point) orb.Point {
	return orb.Point{margin + d.scale*(q[0]-d.box.Min[0]), margin + d.scale*(d.box.Max[1]-q[1])}
}

// measures draws the two lines from which the list measures, at the piece's left and at its top, and outside them how far
// across and down each place of the outline lies, the farthest always. wide and high are the piece's in the picture.
func (d *picturer) measures(m MarkingOut, wide, high float64) {
	const over = 24.0
	thin := func(x0, y0, x1, y1 float64, dash string) {
		fmt.Fprintf(&d.b, `<path class="mark" stroke-width="0.6"%s d="M%.1f %.1fL%.1f %.1f"/>`, dash, x0, y0, x1, y1)
	}
	words := func(x, y float64, anchor, text string) {
		fmt.Fprintf(&d.b, `<text class="word measure" text-anchor="%s" x="%.1f" y="%.1f">%s</text>`, anchor, x, y, template.HTMLEscapeString(text))
	}
	const dash = ` stroke-dasharray="2 3"`
	thin(margin-over, margin, margin+wide+over, margin, dash)
	thin(margin, margin-over, margin, margin+high+over, dash)
	k := d.scale * m.scale * m.unit.mm // of the picture in the draft's unit
	var across, down []told
	for _, r := range m.Outline {
		across, down = append(across, told{k * r.X, r.Across}), append(down, told{k * r.Y, r.Down})
	}
	thin(margin, margin-scaleAway, margin+wide, margin-scaleAway, "")
	for _, t := range apart(across, 34) {
		thin(margin+t.at, margin-scaleAway-3, margin+t.at, margin-scaleAway+3, "")
		words(margin+t.at, margin-scaleAway-6, "middle", t.words)
	}
	thin(margin-scaleAway, margin, margin-scaleAway, margin+high, "")
	for _, t := range apart(down, 13) {
		thin(margin-scaleAway-3, margin+t.at, margin-scaleAway+3, margin+t.at, "")
		words(margin-scaleAway-6, margin+t.at+3.5, "end", t.words)
	}
	words(margin+wide+over, margin-scaleAway+3.5, "middle", "across")
	words(margin-scaleAway, margin+high+over, "middle", "down")
}

// told is a length from a measuring line: where it lies in the picture, and as a tape reads it.
type told struct {
	at    float64
	words string
}

// apart leaves out lengths that would stand too near to one another, and never the greatest.
func apart(all []told, room float64) []told {
	slices.SortStableFunc(all, func(a, b told) int { return cmp.Compare(a.at, b.at) })
	var out []told
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
		away := geom.Mul(geom.Left(way), outside*13/d.scale)
		words := p.Edges[i].Chalk
		if ed.Fold {
			words = "fold " + words
		}
		anchor := "middle"
		switch {
		case away[0]*d.scale > 6:
			anchor = "start"
			away = geom.Mul(away, 0.5)
		case away[0]*d.scale < -6:
			anchor = "end"
			away = geom.Mul(away, 0.5)
		}
		d.write(geom.Add(at, away), words, anchor, "length", 4)
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

func (d *picturer) text(q orb.Point, words, anchor string) { d.write(q, words, anchor, "word", -4) }

func (d *picturer) write(q orb.Point, words, anchor, class string, low float64) {
	at := d.at(q)
	left := 0.0
	if anchor == "start" && class == "word" {
		left = 4
	}
	fmt.Fprintf(&d.b, `<text class="%s" text-anchor="%s" x="%.1f" y="%.1f">%s</text>`, class, anchor, at[0]+left, at[1]+low, template.HTMLEscapeString(words))
}
