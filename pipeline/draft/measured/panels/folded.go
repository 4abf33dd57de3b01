package panels

import (
	"math"
	"slices"
	"unicode/utf8"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/darts"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/pleats"
	"tracewheel/pipeline/draft/measured/sentence"
)

// IsFolded tells whether a drawing's princess line is folded and stitched on whole cloth, so that its piece is whole.
// The words alone tell it: pieces are read before the sentence of a drawing that comes from a block is, and where it stops at
// a slip.
func IsFolded(d *drafting.Drawing) bool {
	if d.PrincessEntry.Sentence == nil {
		return false
	}
	for p := (sentence.Cursor{Sentence: d.PrincessEntry.Sentence}); !p.Done(); {
		switch {
		case !nextClause(&p):
			p.At += max(1, utf8.RuneCountInString(p.Word()))
		case p.Take("folded"):
			return true
		}
	}
	return false
}

// Folded is a drawing with its princess line folded: an outline in which what is taken at the ends lies as the mouths of
// darts, and the stitching lines inside. Nil where it is refused.
func Folded(d *drafting.Drawing) *drafting.Drawing {
	if v := divisionOf(d); v != nil {
		return v.whole
	}
	return nil
}

// checkFolded refuses what is said of a folded line and can be done by a cut seam only.
func (t *seamSentence) checkFolded() {
	p := t.parser
	switch {
	case t.curved:
		p.Fail(0, "a princess line that begins as a curve cannot be folded: cloth folds along a straight line", "begin with line, or take folded out and cut the panels")
	case t.easedAt > 0:
		p.Fail(t.easedAt, "a folded line has both its sides in one cloth, and neither can be eased to the other", "take the ease out, or take folded out and cut the panels")
	case t.flaredAt > 0:
		p.Fail(t.flaredAt, "a folded line leaves the cloth whole, and no panel can be flared", "widen the side seam, or take folded out and cut the panels")
	}
}

// whole joins the two sides of the seam again, what it takes at either end between them as a mouth. Legs are the upper,
// which runs to the bust point, and the lower, which runs from it, of either side.
func (w *princess) whole(s *darts.Ring, one, two side, legs [2][2]curve.Curve) *drafting.Drawing {
	d := s.Drawing
	e, p := d.Scope.Context, w.parser
	switch {
	case w.top.dart >= 0 || w.bottom.dart >= 0:
		p.Refuse(0, "a folded line takes no dart's place: a dart is folded and stitched by itself", "leave the dart out and say how much the line takes at that edge, or take folded out")
		return nil
	case darts.FlareOf(d) != nil:
		p.Refuse(0, "a folded line and a flare cannot be opened in one cloth", "widen the side seam, or take folded out and cut the panels")
		return nil
	}
	ring := &darts.Ring{Drawing: d, Stages: s.Stages, Closed: s.Closed, Last: w.s}
	for _, o := range s.Mouths {
		c := *o
		ring.Mouths = append(ring.Mouths, &c)
	}
	joined := func(a, b curve.Edge, about orb.Point) curve.Edge {
		out := a
		out.Curve = slices.Clone(a.Curve)
		if from, to := a.Curve.End(), b.Curve.Start(); geom.Dist(from, to) > e.Hair() {
			mouth := curve.LineSeg(from, to)
			mouth.Mouth = ring.AddMouth(p, "princess fold", w.press, about)
			out.Curve = append(out.Curve, mouth)
		}
		out.Curve = append(out.Curve, b.Curve...)
		return out
	}
	n, m := len(one)-1, len(two)-1
	edges := side{joined(two[m], one[0], w.x)}
	edges = append(edges, one[1:n]...)
	edges = append(edges, joined(one[n], two[0], meeting(legs[0][1], legs[1][1])))
	edges = append(edges, two[1:m]...)
	first := max(0, curve.IndexOf(edges, s.Edges[0].Name))
	edges = append(slices.Clone(edges[first:]), edges[:first]...)
	whole := d.Part(edges)
	ring.Drawing, ring.Edges, ring.Inside = whole, edges, s.Inside
	for k := range 2 { // the upper lines, then the lower
		ring.Folds = append(ring.Folds, w.stitched([2]curve.Curve{legs[0][k], legs[1][k]})...)
	}
	if len(ring.Folds) == 0 {
		p.Refuse(0, "the folded line takes nothing", "say how much it takes: takes 2.5 at shoulder, 3 at waist")
	}
	for _, t := range s.Inside { // one that crosses the line is told by the panels
		for _, f := range ring.Folds {
			if q := geom.Lerp(t.Wide[0], t.Wide[1], 0.5); f.Outline().Contains(q) {
				p.Refuse(0, "the seam runs through the "+t.Name, "leave that dart out: the seam takes what it takes")
			}
		}
	}
	whole.Ring, whole.Pleats = ring, pleats.Read(d)
	return whole
}

// stitched are the folds between two legs, which begin and end where something is taken.
func (w *princess) stitched(legs [2]curve.Curve) []darts.Fold {
	const least = 1e-6 // nothing is taken
	var out []darts.Fold
	open := false
	for i := range legs[0] {
		a, b := legs[0][i], legs[1][i]
		if geom.Dist(a.From, b.From) < least && geom.Dist(a.To, b.To) < least && geom.Dist(a.At(0.5), b.At(0.5)) < least {
			open = false
			continue
		}
		if !open {
			out, open = append(out, darts.Fold{Line: w.s.Line}), true
		}
		f := &out[len(out)-1]
		f.Legs[0], f.Legs[1] = append(f.Legs[0], a), append(f.Legs[1], b)
	}
	inset := 13 / w.parser.Scope.Context.UnitMM // as of a dart: common practice
	for k := range out {
		f := &out[k]
		if midway(f.Legs[0]) > midway(f.Legs[1]) {
			f.Legs[0], f.Legs[1] = f.Legs[1], f.Legs[0]
		}
		long := f.Legs[0].Length()
		hole := func(l float64) {
			p, _ := f.Legs[0].At(l)
			q, _ := f.Legs[1].At(l)
			f.Holes = append(f.Holes, geom.Lerp(p, q, 0.5))
		}
		if geom.Dist(f.Legs[0].Start(), f.Legs[1].Start()) < least {
			hole(math.Min(inset, long/2))
		}
		if geom.Dist(f.Legs[0].End(), f.Legs[1].End()) < least {
			hole(math.Max(long-inset, long/2))
		}
	}
	return out
}

func midway(c curve.Curve) float64 {
	q, _ := c.At(c.Length() / 2)
	return q[0]
}

// meeting is where lines through the ends of two legs, the way these run there, meet: legs are each other's mirror image.
// Of legs that run side by side it lies far away.
func meeting(a, b curve.Curve) orb.Point {
	const far = 1e5
	p, q := a.End(), b.End()
	u, v := a[len(a)-1].Dir(1), b[len(b)-1].Dir(1)
	mid := geom.Lerp(p, q, 0.5)
	if along := geom.Add(u, v); math.Abs(geom.Cross(u, v)) < 1e-6 {
		return geom.Sub(mid, geom.Mul(geom.Unit(along), far))
	}
	return geom.Sub(p, geom.Mul(u, geom.Cross(geom.Sub(p, q), v)/geom.Cross(u, v)))
}
