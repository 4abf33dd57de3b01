package measured

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// shaping is a drawing while darts are moved, seams divide it and slashes open it: its outline is a
// ring of edges in which the mouth of each dart is a stretch that bears the mouth's number.
type shaping struct {
	d      *drawing
	edges  []outlineEdge
	mouths []*mouth
	inside []insideDart
	stages [][]sector
	closed []closing
	last   *sentence // what shaped it last
}

// closing is where a dart was closed because it went elsewhere: between which two edges.
type closing struct {
	told          *dartTold
	before, after string
}

// mouth is where a dart, or fullness that a dart became, reaches the outline.
type mouth struct {
	told  *dartTold
	name  string
	about orb.Point // the point about which it turns
	p     orb.Point // where a dart ends that stayed as drawn
	made  bool      // its cap is to be made
	as    string    // gathers or ease; nothing for a dart
}

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

type sector struct {
	was geom.Path
	to  geom.Affine
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

// isDartKey tells the name of a dart.
func isDartKey(k string) bool { return k == "dart" || len(k) > 5 && k[:5] == "dart " }

// shaped is the drawing with its darts moved and its flare opened, in the order in which they are told;
// where a princess seam divides it, the flare waits for the panels. Worked out once.
func (d *drawing) shaped() *shaping {
	if d.shape != nil {
		return d.shape
	}
	s := &shaping{d: d, edges: append([]outlineEdge(nil), d.edges...)}
	told := map[string]*dartTold{}
	for _, x := range d.shapes {
		if !isDartKey(x.key) {
			continue
		}
		if x.s == nil {
			d.sc.eng.fault(x.node, quote(x.key)+" wants a sentence", "say leg to point to leg")
			panic(blocked{})
		}
		if isInside(x) {
			s.inside = append(s.inside, d.readInside(x))
			continue
		}
		t := d.readDart(x)
		told[x.key] = &t
		m := &mouth{told: &t, name: x.key, about: t.about, p: t.p}
		if len(t.moves) == 0 { // it stays, with the cap that is drawn unless more is said
			m.about, m.made = t.p, t.folded != "" || t.short > 0 || t.trued
		}
		s.mouths = append(s.mouths, m)
		s.edges[t.cap].c = s.edges[t.cap].c.marked(len(s.mouths))
	}
	for _, x := range d.shapes {
		switch t := told[x.key]; {
		case t != nil && len(t.moves) > 0:
			s.move(t)
		case x.key == "flare" && d.princess.s == nil:
			f := d.readFlare()
			s.spread(f, f.parts())
		}
	}
	d.shape = s
	s.apart()
	return s
}

// apart refuses a dart inside the piece that runs into another.
func (s *shaping) apart() {
	for i, t := range s.inside {
		for _, o := range s.inside[:i] {
			if len(geom.Crossings(t.line(), o.line())) > 0 {
				(&parser{s: t.s}).fail(0, "it runs into the "+o.name, "lay the two apart")
			}
		}
		for m, o := range s.mouths {
			if a, b, ok := s.legs(m); ok && o.as == "" && len(geom.Crossings(t.line(), geom.Path{Points: []orb.Point{a, o.end(a, b), b}})) > 0 {
				(&parser{s: t.s}).fail(0, "it runs into the "+o.name, "lay the two apart, or make one shorter")
			}
		}
	}
}

// staged keeps a cut's parts, and carries with them what lies inside.
func (s *shaping) staged(parts []sector) {
	s.stages = append(s.stages, parts)
	for i, t := range s.inside {
		s.inside[i] = t.apply(func(q orb.Point) orb.Point { return carry([][]sector{parts}, q) })
	}
}

// form is the drawing as it is sewn and as it is cut; worked out once.
func (d *drawing) form() *formed {
	if d.formed == nil {
		d.formed = d.shaped().finish()
	}
	return d.formed
}

// marked is the curve as the mouth of that number.
func (c curve) marked(m int) curve {
	out := append(curve(nil), c...)
	for i := range out {
		out[i].mouth = m
	}
	return out
}

// cloth is a curve's length without the mouths in it.
func (c curve) cloth() float64 {
	var sum float64
	for _, s := range c {
		if s.mouth == 0 {
			sum += s.length()
		}
	}
	return sum
}

// onCloth is the place at a length from the start, the mouths stepped over; at a mouth it is the
// place before it.
func (c curve) onCloth(l float64) place {
	at := place{len(c) - 1, 1}
	for i, s := range c {
		if s.mouth != 0 {
			continue
		}
		n := s.length()
		at = place{i, s.atLength(math.Min(l, n))}
		if l <= n+1e-9 {
			break
		}
		l -= n
	}
	return at
}

// mouthEdge is the edge that is the mouth of a drawn dart, -1 where the dart is gone.
func (s *shaping) mouthEdge(m int) int {
	for i, ed := range s.edges {
		if ed.c[0].mouth == m+1 && ed.c[len(ed.c)-1].mouth == m+1 {
			return i
		}
	}
	return -1
}

// turn brings a stretch of the ring to its new place, and with it the darts whose mouths lie in it.
func (s *shaping) turn(c curve, m geom.Affine, done map[int]bool) curve {
	for _, g := range c {
		if g.mouth != 0 && !done[g.mouth] {
			done[g.mouth] = true
			o := s.mouths[g.mouth-1]
			o.about, o.p = m.Apply(o.about), m.Apply(o.p)
		}
	}
	return c.apply(m)
}

// clear refuses a cut that does not run from place to place inside the cloth.
func (s *shaping) clear(p *parser, what string, from, to orb.Point, own int) {
	const inset = 0.2 // mm, so that the ends themselves do not count
	e := s.d.sc.eng
	k := inset / e.unitMM / geom.Dist(from, to)
	cut := geom.Path{Points: []orb.Point{geom.Lerp(from, to, k), geom.Lerp(from, to, 1-k)}}
	for m, o := range s.mouths {
		if m == own {
			continue
		}
		a, b, ok := s.legs(m)
		if !ok || min(geom.Dist(a, to), geom.Dist(b, to)) < e.hair() {
			continue // closed, or cut along its leg to make it wider
		}
		if len(geom.Crossings(cut, geom.Path{Points: []orb.Point{a, o.end(a, b), b}})) > 0 {
			p.fail(0, fmt.Sprintf("%s, from %s to %s, runs through the %s", what, spot(from), spot(to), o.name), "move that dart first, on a line above this one, or cut to another place")
		}
	}
	for _, t := range s.inside {
		if len(geom.Crossings(cut, t.line())) > 0 {
			p.fail(0, fmt.Sprintf("%s, from %s to %s, runs through the %s", what, spot(from), spot(to), t.name), "cut to another place")
		}
	}
	var out geom.Path
	for _, ed := range s.edges {
		for _, g := range ed.c {
			out.Points = g.flatten(out.Points, 0.2/e.unitMM)
		}
	}
	out.Closed = true
	if len(geom.Crossings(cut, out)) > 0 {
		p.fail(0, fmt.Sprintf("%s, from %s to %s, does not lie inside the piece", what, spot(from), spot(to)), "cut to a place that is seen from there")
	}
}

// end is the point of the dart by now: drawn, or so far short of the point about which it turned.
func (o *mouth) end(a, b orb.Point) orb.Point {
	if !o.made {
		return o.p
	}
	mid := geom.Lerp(a, b, 0.5)
	return geom.Add(o.about, geom.Mul(geom.Unit(geom.Sub(mid, o.about)), o.told.short))
}

// legs are the ends of a mouth in the ring; false where it was closed.
func (s *shaping) legs(m int) (a, b orb.Point, ok bool) {
	for _, ed := range s.edges {
		for _, g := range ed.c {
			if g.mouth == m+1 {
				if !ok {
					a, ok = g.a, true
				}
				b = g.b
			}
		}
	}
	return a, b, ok
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
		(&parser{s: s.last, sc: s.d.sc}).fail(0, fmt.Sprintf("the outline of %q crosses itself at %s once it is opened", s.d.name, spot(at)), "move less, or to another place")
	}
}
