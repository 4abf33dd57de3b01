package measured

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// formed is a drawing with its darts where they are sewn, and flared.
type formed struct {
	worn  []outlineEdge // darts sewn: the stretches of an edge without the mouths in it
	edges []outlineEdge // as cut
	darts []dart
	// mouths are those of darts and of fullness, each with the point about which it closes.
	mouths []dart
	full   []fullness
	// inside are the darts that reach no edge.
	inside []insideDart
	// points are the places where the outline makes a point because a dart was closed there.
	points []closedPoint
	// stages are the cuts, in order; each has the parts that it turned, as they lay before it.
	stages [][]sector
}

// carry brings a point of the drawing to where it lies once it is shaped.
func (f *formed) carry(q orb.Point) orb.Point { return carry(f.stages, q) }

func carry(stages [][]sector, q orb.Point) orb.Point {
	for _, parts := range stages {
		best, at := math.Inf(1), q
		for _, s := range parts {
			d := s.was.Nearest(q).Dist
			if s.was.Contains(q) {
				d = 0
			}
			if d < best-1e-9 {
				best, at = d, s.to.Apply(q)
			}
		}
		q = at
	}
	return q
}

// form is the drawing as it is sewn and as it is cut; worked out once.
func (d *drawing) form() *formed {
	if f, ok := d.formed.(*formed); ok {
		return f
	}
	f := d.shaped().finish()
	d.formed = f
	return f
}

// finish makes the caps of the darts and draws up the two outlines.
func (s *shaping) finish() *formed {
	s.merge()
	s.trueDarts()
	f := &formed{stages: s.stages, points: s.closedPoints(), inside: s.inside}
	for i, ed := range s.edges {
		worn, cut := ed, ed
		worn.c, cut.c = nil, nil
		var b blender
		for k := 0; k < len(ed.c); {
			m := ed.c[k].mouth
			if m == 0 {
				worn.c, cut.c = append(worn.c, ed.c[k]), append(cut.c, ed.c[k])
				k++
				continue
			}
			j := k
			for j < len(ed.c) && ed.c[j].mouth == m {
				j++
			}
			c := s.close(f, m-1, i, k, j)
			b.met(len(cut.c), len(c), s.mouths[m-1].as != "")
			cut.c = append(cut.c, c...)
			if k == 0 && j == len(ed.c) {
				worn.c = append(worn.c, c...) // an edge of its own
			}
			k = j
		}
		cut.c = b.blend(cut.c, i, f)
		f.worn, f.edges = append(f.worn, worn), append(f.edges, cut)
	}
	if s.last != nil {
		s.uncrossed(f)
	}
	return f
}

// close gives the stretch by which the mouth from stretch k to j of an edge is cut.
func (s *shaping) close(f *formed, m, edge, k, j int) curve {
	o, run := s.mouths[m], s.edges[edge].c[k:j]
	if o.as != "" {
		f.mouths = append(f.mouths, dart{a: run.start(), p: o.about, b: run.end(), edge: edge})
		return append(curve(nil), run...)
	}
	before, after := s.beside(edge, k, -1), s.beside(edge, j, 1)
	d := dart{name: o.name, s: o.told.s, a: run.start(), b: run.end(), edge: edge, in: before[len(before)-1].dir(1), out: after[0].dir(0)}
	d.p = o.end(d.a, d.b)
	f.darts, f.mouths = append(f.darts, d), append(f.mouths, d)
	if !o.made {
		return append(curve(nil), run...)
	}
	if l := geom.Dist(o.about, geom.Lerp(d.a, d.b, 0.5)); o.told.short >= l {
		o.told.parser.fail(0, fmt.Sprintf("the dart is %s long from its edge to the apex, and should end %s short", num(l), num(o.told.short)), "let it end less far short")
	}
	return d.capOf(*o.told, before, after)
}

// beside is the stretch of an edge before a mouth (way -1) or behind it (1); the whole of the next
// edge where the mouth is an edge of its own.
func (s *shaping) beside(edge, k, way int) curve {
	c := s.edges[edge].c
	n := len(s.edges)
	if way < 0 {
		if k == 0 {
			c = s.edges[(edge+n-1)%n].c
			k = len(c)
		}
		from := k
		for from > 0 && c[from-1].mouth == 0 {
			from--
		}
		return c[from:k]
	}
	if k == len(c) {
		c = s.edges[(edge+1)%n].c
		k = 0
	}
	to := k
	for to < len(c) && c[to].mouth == 0 {
		to++
	}
	return c[k:to]
}

// merge makes one dart of two that were moved to one place about one point.
func (s *shaping) merge() {
	for i := range s.edges {
		c := s.edges[i].c
		for k := 0; k+1 < len(c); k++ {
			if c[k].mouth == 0 || c[k+1].mouth == 0 || c[k].mouth == c[k+1].mouth {
				continue
			}
			a, b := s.mouths[c[k].mouth-1], s.mouths[c[k+1].mouth-1]
			if geom.Dist(a.about, b.about) > s.d.sc.eng.hair() || a.as != b.as {
				b.told.parser.fail(0, fmt.Sprintf("it comes to the place of the %s and turns about another point", a.name), "move it to a place beside, or about the same point")
			}
			one := lineSeg(c[k].a, c[k+1].b)
			one.mouth = c[k].mouth
			c = append(append(append(curve(nil), c[:k]...), one), c[k+2:]...)
			s.edges[i].c = c
			k--
		}
	}
}

// uncrossed refuses a shape that runs through itself once it is opened.
func (s *shaping) uncrossed(f *formed) {
	line, _ := s.d.sc.eng.flattenTo(f.edges, 0.05)
	if found := line.SelfCrossings(1); len(found) > 0 {
		at := geom.Mul(orb.Point{found[0].At[0], -found[0].At[1]}, 1/s.d.sc.eng.unitMM)
		(newParser(s.last, s.d.sc)).fail(0, fmt.Sprintf("the outline of %q crosses itself at %s once it is opened", s.d.name, spot(at)), "move less, or to another place")
	}
}
