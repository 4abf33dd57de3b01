package measured

import (
	"fmt"

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

type sector struct {
	was geom.Path
	to  geom.Affine
}

// isDartKey tells the name of a dart.
func isDartKey(k string) bool { return k == "dart" || len(k) > 5 && k[:5] == "dart " }

// shaped is the drawing with its darts moved and its flare opened, in the order in which they are told;
// where a princess seam divides it, the flare waits for the panels. Worked out once.
func (d *drawing) shaped() *shaping {
	if s, ok := d.shape.(*shaping); ok {
		return s
	}
	s := &shaping{d: d, edges: append([]outlineEdge(nil), d.edges...)}
	told := map[string]*dartTold{}
	for _, x := range d.shapes {
		if !isDartKey(x.key) {
			continue
		}
		if x.s == nil {
			d.sc.eng.fault(x.keyNode, quote(x.key)+" wants a sentence", "say leg to point to leg")
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
		if t.cap < 0 {
			m.made = true
			s.mouthInEdge(&t, len(s.mouths))
			continue
		}
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
				(&cursor{s: t.s}).fail(0, "it runs into the "+o.name, "lay the two apart")
			}
		}
		for m, o := range s.mouths {
			if a, b, ok := s.legs(m); ok && o.as == "" && len(geom.Crossings(t.line(), geom.Path{Points: []orb.Point{a, o.end(a, b), b}})) > 0 {
				(&cursor{s: t.s}).fail(0, "it runs into the "+o.name, "lay the two apart, or make one shorter")
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
