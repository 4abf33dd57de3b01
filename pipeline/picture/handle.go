package picture

import (
	"github.com/paulmach/orb"

	"tracewheel/pipeline/pattern"
)

// handle is what can be pointed at in a page: an edge, a dart or a lettered point of a piece, and the line of the
// draft that says it, 0 for none.
type handle struct {
	piece, name string
	line        int
}

// handles puts a shape that is not drawn over each edge, dart and lettered point; points lie on top.
func (c *Canvas) handles(f frame, p *pattern.Piece) {
	put := func(class, name string, no int, points []orb.Point, closed bool) {
		c.shapes = append(c.shapes, shape{class: "handle " + class, handle: &handle{p.Name, name, no}, lines: []line{{points, closed}}})
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
			put("edge", e.Name, e.Line, run, false)
		}
	}
	for _, m := range p.Marks {
		if m.Line > 0 {
			put("dart", m.Label, m.Line, at(m.Path.Points...), false)
		}
	}
	room := bound(p).Pad(gutter / 2 / f.scale)
	for _, l := range p.Points {
		if room.Contains(l.At) {
			put("point", l.Text, l.Line, circle(f.at(l.At), 8), true)
		}
	}
}
