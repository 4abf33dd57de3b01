// Package darts shapes a drawing: darts are moved, closed, capped and trued, and flare is spread. It takes
// a drawing with its outline and gives its Ring, from which seams and slashes are cut, and Formed: the
// edges as worn and as cut, with the way from one to the other. Lengths are in the draft's unit.
package darts

import (
	"fmt"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// Ring is a drawing while darts are moved, seams divide it and slashes open it: its outline is a
// ring of edges in which the mouth of each dart is a stretch that bears the mouth's number.
type Ring struct {
	Drawing *drafting.Drawing
	Edges   []curve.Edge
	Mouths  []*mouth
	Inside  []insideDart
	Folds   []Fold
	Stages  [][]sector
	Closed  []closing
	Last    *sentence.Sentence // what shaped it last
}

// closing is where a dart was closed because it went elsewhere: between which two edges.
type closing struct {
	dart          *drawnDart
	before, after string
}

type sector struct {
	was geom.Path
	to  geom.Affine
}

// apart refuses a dart inside the piece that runs into another.
func (s *Ring) apart() {
	for i, t := range s.Inside {
		for _, o := range s.Inside[:i] {
			if len(geom.Crossings(t.Line(), o.Line())) > 0 {
				t.parser.Refuse(0, "it runs into the "+o.Name, "lay the two apart")
			}
		}
		for m, o := range s.Mouths {
			if a, b, ok := s.Legs(m); ok && o.Fullness == "" && len(geom.Crossings(t.Line(), geom.Path{Points: []orb.Point{a, o.End(a, b), b}})) > 0 {
				t.parser.Refuse(0, "it runs into the "+o.Name, "lay the two apart, or make one shorter")
			}
		}
	}
}

// staged keeps a cut's parts, and carries with them what lies inside.
func (s *Ring) staged(parts []sector) {
	s.Stages = append(s.Stages, parts)
	for i, t := range s.Inside {
		s.Inside[i] = t.Apply(func(q orb.Point) orb.Point { return Carry([][]sector{parts}, q) })
	}
}

// turn brings a stretch of the ring to its new place, and with it the darts whose mouths lie in it.
func (s *Ring) turn(c curve.Curve, m geom.Affine, done map[int]bool) curve.Curve {
	for _, g := range c {
		if g.Mouth != 0 && !done[g.Mouth] {
			done[g.Mouth] = true
			o := s.Mouths[g.Mouth-1]
			o.about, o.p = m.Apply(o.about), m.Apply(o.p)
		}
	}
	return c.Apply(m)
}

// clear refuses a cut that does not run from place to place inside the cloth.
func (s *Ring) clear(p *tree.Parser, what string, from, to orb.Point, own int) {
	const inset = 0.2 // mm, so that the ends themselves do not count
	e := s.Drawing.Scope.Context
	k := inset / e.UnitMM / geom.Dist(from, to)
	cut := geom.Path{Points: []orb.Point{geom.Lerp(from, to, k), geom.Lerp(from, to, 1-k)}}
	for m, o := range s.Mouths {
		if m == own {
			continue
		}
		a, b, ok := s.Legs(m)
		if !ok || min(geom.Dist(a, to), geom.Dist(b, to)) < e.Hair() {
			continue // closed, or cut along its leg to make it wider
		}
		if len(geom.Crossings(cut, geom.Path{Points: []orb.Point{a, o.End(a, b), b}})) > 0 {
			p.Refuse(0, fmt.Sprintf("%s, from %s to %s, runs through the %s", what, p.Where(from), p.Where(to), o.Name), "move that dart first, on a line above this one, or cut to another place")
		}
	}
	for _, t := range s.Inside {
		if len(geom.Crossings(cut, t.Line())) > 0 {
			p.Refuse(0, fmt.Sprintf("%s, from %s to %s, runs through the %s", what, p.Where(from), p.Where(to), t.Name), "cut to another place")
		}
	}
	var out geom.Path
	for _, ed := range s.Edges {
		for _, g := range ed.Curve {
			out.Points = g.Flatten(out.Points, 0.2/e.UnitMM)
		}
	}
	out.Closed = true
	if len(geom.Crossings(cut, out)) > 0 {
		p.Unfit(0, fmt.Sprintf("%s, from %s to %s, does not lie inside the piece", what, p.Where(from), p.Where(to)), "cut to a place that is seen from there")
	}
}
