package sheets

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/look"
	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/pdf"
)

// Line widths, mm, near the series of ISO 128 (0.18, 0.35, 0.7): thinner lines break where a printer saves toner.
const (
	thin    = 0.18
	thick   = 0.35
	cutWide = 0.6
)

// widths are the line widths of the kinds that are not drawn in the default width.
var widths = map[look.Kind]float64{look.Cut: cutWide, look.Cutout: 0.55, look.Slit: 0.55, look.Notch: 0.5, look.Quality: 0.25}

func widthOf(k look.Kind) float64 {
	if w, ok := widths[k]; ok {
		return w
	}
	return thick
}

// sheet draws one sheet of the pattern.
func (b *book) sheet(i int, c cell, title string) {
	a := &b.arranged
	part := a.grid.box(c)
	high := a.grid.high + head
	if b.opt.Paper.Roll {
		part.Min[1] = math.Max(part.Min[1], b.lowest(c)-edge)
		high = part.Max[1] - part.Min[1] + head
	}
	frame := b.begin(high)
	move := geom.Sub(frame.Min, part.Min)
	on := geom.Translate(move[0], move[1])

	b.strips(c, on)
	for k := range a.pieces {
		if p := &a.pieces[k]; slices.Contains(p.on, c) {
			b.piece(p, part, on)
		}
	}
	b.marks(c, on)
	b.d.Stroke(thin, pdf.Box(frame))
	b.heading(i, c, title, frame)
}

// lowest is the lower end of what a sheet shows.
func (b *book) lowest(c cell) float64 {
	part, low := b.arranged.grid.box(c), math.Inf(1)
	for i := range b.arranged.pieces {
		if p := &b.arranged.pieces[i]; slices.Contains(p.on, c) {
			low = math.Min(low, math.Max(p.box.Min[1], part.Min[1]))
		}
	}
	return low
}

// piece draws the part of a piece that lies on a sheet, each of several sizes on a layer of its own.
func (b *book) piece(p *laid, part orb.Bound, on geom.Affine) {
	for layer := 0; layer <= len(b.layers); layer++ {
		b.d.Layer(b.layers, layer)
		b.layer(p, layer, part, on)
	}
	b.d.Layer(b.layers, 0)
}

func (b *book) layer(p *laid, layer int, part orb.Bound, on geom.Affine) {
	for _, ln := range p.lines {
		if ln.layer != layer {
			continue
		}
		var lines []geom.Path
		for _, path := range ln.paths {
			for _, q := range within(path, part) {
				lines = append(lines, q.Apply(on))
			}
		}
		if len(lines) > 0 {
			b.d.Stroke(widthOf(ln.kind), lines...)
		}
	}
	shown := orb.Bound{Min: on.Apply(part.Min), Max: on.Apply(part.Max)}
	for i := range p.words {
		w := &p.words[i]
		if around := w.box().Bound(); w.layer == layer && around.Intersects(part) {
			l := pdf.Lettering{Height: w.Height, Angle: math.Atan2(w.Along[1], w.Along[0]) * 180 / math.Pi, Most: w.wide}
			if !part.Contains(around.Min) || !part.Contains(around.Max) {
				l.Within = &shown
			}
			words := w.Text
			if len(b.layers) > 0 && layer == 0 {
				words = b.set.forAll(words, b.shapes[p.ready])
			}
			b.d.Text(on.Apply(w.At), l, words)
		}
	}
}

// strips shades the strips on which a neighbour is laid.
func (b *book) strips(c cell, on geom.Affine) {
	g := b.arranged.grid
	for _, j := range b.arranged.joins {
		if j.a == c && g.overlap > 0 {
			strip, _ := meet(g.box(j.a), g.box(j.b))
			b.d.Fill(0.93, pdf.Box(strip).Apply(on))
		}
	}
}

// half is half the length of a joining mark, mm.
const half = 6.0

// marks draws the joining marks. The lower of two sheets bears the whole mark and the upper one half of it, so that
// both can be aligned against a window.
func (b *book) marks(c cell, on geom.Affine) {
	g := b.arranged.grid
	for _, j := range b.arranged.joins {
		if j.a != c && j.b != c {
			continue
		}
		strip, _ := meet(g.box(j.a), g.box(j.b))
		// along the edge of the upper sheet, and from it into that sheet
		from, to, into := orb.Point{strip.Min[0], strip.Max[1]}, strip.Min, orb.Point{1, 0}
		if j.below() {
			from, to, into = orb.Point{strip.Min[0], strip.Max[1]}, strip.Max, orb.Point{0, -1}
		}
		along := geom.Unit(geom.Sub(to, from))
		if j.a == c && g.overlap > 0 {
			b.dashes(on.Apply(from), on.Apply(to))
			b.laidHere(j, strip, on)
		}
		for _, share := range []float64{0.3, 0.75} { // not the middle, so that marks do not meet on a sheet that is turned round
			at := geom.Lerp(from, to, share)
			ends := [2]orb.Point{geom.Sub(at, geom.Mul(along, half)), geom.Add(at, geom.Mul(along, half))}
			tips := []float64{1}
			if j.a == c {
				tips = []float64{-1}
				if g.overlap >= half {
					tips = []float64{-1, 1}
				}
			}
			for _, sign := range tips {
				tip := geom.Add(at, geom.Mul(into, sign*half))
				b.d.Stroke(thick, geom.Path{Points: []orb.Point{on.Apply(ends[0]), on.Apply(tip), on.Apply(ends[1])}})
			}
			number := geom.Add(geom.Add(at, geom.Mul(into, tips[0]*2.4)), orb.Point{0, -1})
			b.d.Text(on.Apply(number), pdf.Lettering{Bold: true, Height: 2.2, From: 0.5}, fmt.Sprint(j.number))
		}
	}
}

// dashes draws the line at which a neighbour's edge lies.
func (b *book) dashes(from, to orb.Point) {
	u, n := geom.Unit(geom.Sub(to, from)), geom.Dist(from, to)
	var lines []geom.Path
	for s := 0.0; s < n; s += 4 {
		lines = append(lines, geom.Path{Points: []orb.Point{geom.Add(from, geom.Mul(u, s)), geom.Add(from, geom.Mul(u, math.Min(s+1.5, n)))}})
	}
	b.d.Stroke(thin, lines...)
}

// laidHere names on a shaded strip the sheet that is laid on it.
func (b *book) laidHere(j join, strip orb.Bound, on geom.Affine) {
	if b.arranged.grid.overlap < 4 {
		return
	}
	at, l := strip.Center(), pdf.Lettering{Height: 2, From: 0.5}
	if j.below() {
		at[1]--
	} else {
		at[0]++
		l.Angle = 90
	}
	b.d.Text(on.Apply(at), l, "lay "+j.b.name()+" here")
}

// heading writes outside the frame a sheet's name, pieces and place among the others, and the lengths of its sides.
func (b *book) heading(i int, c cell, title string, frame orb.Bound) {
	a := &b.arranged
	left, top := frame.Min[0], frame.Max[1]
	name := pdf.Lettering{Bold: true, Height: 7.5}
	b.d.Text(orb.Point{left - side + 0.3, top + 2.6}, name, c.name())
	x := left - side + name.Width(c.name()) + 4
	room := frame.Max[0] - x
	var names []string
	for k := range a.pieces {
		if p := &a.pieces[k]; slices.Contains(p.on, c) {
			if n := b.shapes[p.ready].Name; !slices.Contains(names, n) {
				names = append(names, n)
			}
		}
	}
	if len(names) == 0 {
		names = []string{"-"}
	}
	b.d.Text(orb.Point{x, top + 8}, pdf.Lettering{Bold: true, Height: 2.1, Most: room},
		fmt.Sprintf("%s: %s", title, strings.Join(names, ", ")))
	b.d.Text(orb.Point{x, top + 4.7}, pdf.Lettering{Height: 2.1, Most: room},
		fmt.Sprintf("row %s of %d, column %d of %d, sheet %d of %d%s", rowName(c.row), b.Rows, c.col+1, b.Columns, i+1, b.Sheets, b.cutSides(c)))
	b.d.Text(orb.Point{x, top + 1.2}, pdf.Lettering{Height: 2, Most: room},
		"this side of the frame is "+lengths(frame.Max[0]-frame.Min[0])+" long: measure it; "+b.carried())
	b.d.Text(orb.Point{left - 1.2, frame.Min[1] + 2}, pdf.Lettering{Height: 2, Angle: 90, Most: frame.Max[1] - frame.Min[1] - 4},
		"this side of the frame is "+lengths(frame.Max[1]-frame.Min[1])+" long: measure it")
}

// carried says which calibration of the printer the sheets are corrected by.
func (b *book) carried() string {
	if b.opt.Calibration == 0 {
		return "corrected by no calibration"
	}
	return fmt.Sprintf("corrected by calibration %d", b.opt.Calibration)
}

// cutSides says which sides of a sheet are cut off and where it is laid.
func (b *book) cutSides(c cell) string {
	var left, above string
	for _, j := range b.arranged.joins {
		if j.b == c && j.below() {
			above = j.a.name()
		} else if j.b == c {
			left = j.a.name()
		}
	}
	switch {
	case left != "" && above != "":
		return fmt.Sprintf("; cut off left and above the frame, lay on %s and %s", left, above)
	case left != "":
		return fmt.Sprintf("; cut off left of the frame, lay on %s", left)
	case above != "":
		return fmt.Sprintf("; cut off above the frame, lay on %s", above)
	}
	return ""
}

// lengths says a length in both units: to a tenth of a mm, and to a hundredth of an inch.
func lengths(mm float64) string {
	return fmt.Sprintf("%s mm (%s in)", pattern.Decimal(mm, 1), pattern.Decimal(mm/25.4, 2))
}
