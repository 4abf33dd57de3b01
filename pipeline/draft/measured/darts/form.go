package darts

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/tree"
)

// Formed is a drawing with its darts where they are sewn, and flared.
type Formed struct {
	Worn  []curve.Edge // darts sewn: the stretches of an edge without the mouths in it
	Edges []curve.Edge // as cut
	Darts []Dart
	// mouths are those of darts and of fullness, each with the point about which it closes.
	Mouths []Dart
	Full   []fullness
	// inside are the darts that reach no edge.
	Inside []insideDart
	// Folds are the lines that are folded and stitched; their mouths are among the darts.
	Folds []Fold
	// points are the places where the outline makes a point because a dart was closed there.
	Points []closedPoint
	// stages are the cuts, in order; each has the parts that it turned, as they lay before it.
	Stages [][]sector
}

// Carry brings a point of the drawing to where it lies once it is shaped.
func (f *Formed) Carry(q orb.Point) orb.Point { return Carry(f.Stages, q) }

// Carry brings a point through cuts, in their order: at each it goes with the part in which it lies, or that lies nearest.
func Carry(stages [][]sector, q orb.Point) orb.Point {
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

// FormOf is the drawing as it is sewn and as it is cut; nil where that is refused.
func FormOf(d *drafting.Drawing) *Formed {
	return drafting.Once(d, &d.Formed, func() *Formed {
		s := RingOf(d)
		if s == nil {
			return nil
		}
		return s.finish()
	})
}

// finish makes the caps of the darts and draws up the two outlines.
func (s *Ring) finish() *Formed {
	e := s.Drawing.Scope.Context
	if s.merge(); e.Blocked() {
		return nil
	}
	s.trueDarts()
	f := &Formed{Stages: s.Stages, Points: s.closedPoints(), Inside: s.Inside, Folds: s.Folds}
	for i, ed := range s.Edges {
		worn, cut := ed, ed
		worn.Curve, cut.Curve = nil, nil
		var b blender
		for k := 0; k < len(ed.Curve); {
			m := ed.Curve[k].Mouth
			if m == 0 {
				worn.Curve, cut.Curve = append(worn.Curve, ed.Curve[k]), append(cut.Curve, ed.Curve[k])
				k++
				continue
			}
			j := k
			for j < len(ed.Curve) && ed.Curve[j].Mouth == m {
				j++
			}
			c := s.close(f, m-1, i, k, j)
			if e.Blocked() {
				return nil
			}
			b.met(len(cut.Curve), len(c), s.Mouths[m-1].Fullness != "")
			cut.Curve = append(cut.Curve, c...)
			if k == 0 && j == len(ed.Curve) {
				worn.Curve = append(worn.Curve, c...) // an edge of its own
			}
			k = j
		}
		cut.Curve = b.blend(cut.Curve, i, f)
		f.Worn, f.Edges = append(f.Worn, worn), append(f.Edges, cut)
	}
	if s.Last != nil {
		s.uncrossed(f)
	}
	return f
}

// close gives the stretch by which the mouth from stretch k to j of an edge is cut.
func (s *Ring) close(f *Formed, m, edge, k, j int) curve.Curve {
	o, run := s.Mouths[m], s.Edges[edge].Curve[k:j]
	if o.Fullness != "" {
		f.Mouths = append(f.Mouths, Dart{LegA: run.Start(), Apex: o.about, LegB: run.End(), Edge: edge})
		return append(curve.Curve(nil), run...)
	}
	before, after := s.beside(edge, k, -1), s.beside(edge, j, 1)
	d := Dart{Name: o.Name, Sentence: o.dart.Sentence, LegA: run.Start(), LegB: run.End(), Edge: edge, Stitched: o.stitched, turn: curve.Orientation(s.Edges), In: before[len(before)-1].Dir(1), Out: after[0].Dir(0)}
	d.Apex = o.End(d.LegA, d.LegB)
	f.Darts, f.Mouths = append(f.Darts, d), append(f.Mouths, d)
	if !o.made {
		return append(curve.Curve(nil), run...)
	}
	if l := geom.Dist(o.about, geom.Lerp(d.LegA, d.LegB, 0.5)); o.dart.short >= l {
		o.dart.parser.Unfit(0, fmt.Sprintf("the dart is %s long from its edge to the apex, and should end %s short", o.dart.parser.Say(l), o.dart.parser.Say(o.dart.short)), "let it end less far short")
		return nil
	}
	return d.capOf(o.dart, before, after)
}

// beside is the stretch of an edge before a mouth (way -1) or behind it (1); the whole of the next
// edge where the mouth is an edge of its own.
func (s *Ring) beside(edge, k, way int) curve.Curve {
	c := s.Edges[edge].Curve
	n := len(s.Edges)
	if way < 0 {
		if k == 0 {
			c = s.Edges[(edge+n-1)%n].Curve
			k = len(c)
		}
		from := k
		for from > 0 && c[from-1].Mouth == 0 {
			from--
		}
		return c[from:k]
	}
	if k == len(c) {
		c = s.Edges[(edge+1)%n].Curve
		k = 0
	}
	to := k
	for to < len(c) && c[to].Mouth == 0 {
		to++
	}
	return c[k:to]
}

// merge makes one dart of two that were moved to one place about one point.
func (s *Ring) merge() {
	for i := range s.Edges {
		c := s.Edges[i].Curve
		for k := 0; k+1 < len(c); k++ {
			if c[k].Mouth == 0 || c[k+1].Mouth == 0 || c[k].Mouth == c[k+1].Mouth {
				continue
			}
			a, b := s.Mouths[c[k].Mouth-1], s.Mouths[c[k+1].Mouth-1]
			if geom.Dist(a.about, b.about) > s.Drawing.Scope.Context.Hair() || a.Fullness != b.Fullness {
				b.dart.parser.Refuse(0, fmt.Sprintf("it comes to the place of the %s and turns about another point", a.Name), "move it to a place beside, or about the same point")
				return
			}
			one := curve.LineSeg(c[k].From, c[k+1].To)
			one.Mouth = c[k].Mouth
			c = append(append(append(curve.Curve(nil), c[:k]...), one), c[k+2:]...)
			s.Edges[i].Curve = c
			k--
		}
	}
}

// uncrossed refuses a shape that runs through itself once it is opened.
func (s *Ring) uncrossed(f *Formed) {
	line, _ := s.Drawing.Scope.Context.FlattenTo(f.Edges, 0.05)
	if found := line.SelfCrossings(1); len(found) > 0 {
		at := geom.Mul(orb.Point{found[0].At[0], -found[0].At[1]}, 1/s.Drawing.Scope.Context.UnitMM)
		(tree.NewParser(s.Last, s.Drawing.Scope)).Unfit(0, fmt.Sprintf("the outline of %q crosses itself at %s once it is opened", s.Drawing.Name, s.Drawing.Scope.Where(at)), "move less, or to another place")
	}
}
