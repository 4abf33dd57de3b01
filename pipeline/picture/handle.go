package picture

import (
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"

	"tracewheel/pipeline/pattern"
)

// handle is something that a page can point at: an edge, a dart or a lettered point of a piece, with the line of the
// draft that says it, 0 for none; or a piece of a lay with its number from 1.
type handle struct {
	piece, name string
	line        int
	number      int
	at          *orb.Point // the place of a point
}

// handles puts an invisible shape over each edge, dart and lettered point, points on top. With said false, the pieces
// are those of another draft, and their shapes have no line.
func (c *Canvas) handles(f frame, p *pattern.Piece, said bool) {
	put := func(class, name string, no int, at *orb.Point, points []orb.Point, closed bool) {
		if !said {
			no = 0
		}
		c.shapes = append(c.shapes, shape{class: "handle " + class, handle: &handle{piece: p.Name, name: name, line: no, at: at}, lines: []line{{points, closed}}})
	}
	at := func(of ...orb.Point) (out []orb.Point) {
		for _, q := range of {
			out = append(out, f.at(q))
		}
		return out
	}
	if l := p.EdgeLine(); l != nil && p.EdgesFit() {
		n := len(l.Points)
		for k, e := range p.Edges {
			last := p.Edges[(k+1)%len(p.Edges)].First
			run := at(l.Points[e.First])
			for i := e.First; i != last || len(run) == 1; {
				i = (i + 1) % n
				run = append(run, f.at(l.Points[i]))
			}
			put("edge", e.Name, e.Line, nil, run, false)
		}
	}
	for _, m := range p.Marks {
		if m.Line > 0 {
			put("dart", m.Label, m.Line, nil, at(m.Path.Points...), false)
		}
	}
	room := bound(p).Pad(gutter / 2 / f.scale)
	for _, l := range p.Points {
		if room.Contains(l.At) {
			q := f.at(l.At)
			put("point", l.Text, l.Line, &q, circle(q, 8), true)
		}
	}
}

// copies puts an invisible shape over a piece for each of its copies.
func (c *Canvas) copies(f frame, p *pattern.Pattern, piece int, all []Copy) {
	o := p.Pieces[piece].Outline()
	for _, k := range all {
		if k.Index == piece && o != nil {
			c.pointed(k.Number, k.Name, o.Apply(f.m).Points)
		}
	}
}

// pointed puts an invisible shape over a piece.
func (c *Canvas) pointed(number int, name string, outline []orb.Point) {
	if len(outline) > 0 {
		outline = simplify.DouglasPeucker(outlineTo).LineString(slices.Clone(orb.LineString(outline)))
		c.shapes = append(c.shapes, shape{class: "piece", handle: &handle{piece: name, number: number}, lines: []line{{outline, true}}})
	}
}

// outlineTo is how far, in picture units, the invisible outline may deviate from the drawn one.
const outlineTo = 0.5
