package picture

import (
	"cmp"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

func (c *Canvas) segment(f frame, class string, ink Ink, s *pattern.Segment) {
	if s == nil {
		return
	}
	a, b := f.at(s.A), f.at(s.B)
	c.add(class, ink, false, []orb.Point{a, b}, false)
	c.head(class, ink, a, b)
	c.head(class, ink, b, a)
}

// cross marks a place.
func (c *Canvas) cross(at orb.Point, ink Ink) {
	const arm = 4
	c.add("drill", ink, false, []orb.Point{{at[0] - arm, at[1]}, {at[0] + arm, at[1]}}, false)
	c.add("drill", ink, false, []orb.Point{{at[0], at[1] - arm}, {at[0], at[1] + arm}}, false)
}

// fold draws the lines on a fold of the cloth, each with its bracket inside the piece.
func (c *Canvas) fold(f frame, p *pattern.Piece, ink Ink) {
	for _, s := range []*pattern.Segment{p.Fold, p.Second} {
		if s == nil {
			continue
		}
		a, b := f.at(s.A), f.at(s.B)
		c.add("fold", ink, false, throughAllowances(a, b, p.Cut, f), false)
		inside := geom.Left(geom.Unit(geom.Sub(b, a)))
		if o := p.Outline(); o != nil && geom.Dot(inside, geom.Sub(f.at(o.Bound().Center()), a)) < 0 {
			inside = geom.Mul(inside, -1)
		}
		c.bracket("fold", ink, a, b, inside)
	}
}

// throughAllowances extends a fold to the cut line beyond its ends, since the cloth is folded there too.
func throughAllowances(a, b orb.Point, cut *geom.Path, f frame) []orb.Point {
	long := geom.Dist(a, b)
	from, to, u := 0.0, long, geom.Unit(geom.Sub(b, a))
	if cut != nil && long > 0 {
		for _, q := range cut.Points {
			if off := geom.Sub(f.at(q), a); math.Abs(geom.Cross(u, off)) < f.scale*geom.CloseTol {
				from, to = math.Min(from, geom.Dot(u, off)), math.Max(to, geom.Dot(u, off))
			}
		}
	}
	return []orb.Point{geom.Add(a, geom.Mul(u, from)), geom.Add(a, geom.Mul(u, to))}
}

// bracket marks an edge as laid on a fold: a line beside its middle part, whose two arms end in arrow heads on the
// edge (common practice).
func (c *Canvas) bracket(class string, ink Ink, a, b, inside orb.Point) {
	ink.Dash = nil
	reach := geom.Mul(inside, math.Min(14, geom.Dist(a, b)/5))
	from, to := geom.Lerp(a, b, 0.25), geom.Lerp(a, b, 0.75)
	in, out := geom.Add(from, reach), geom.Add(to, reach)
	c.add(class, ink, false, []orb.Point{from, in, out, to}, false)
	c.head(class, ink, in, from)
	c.head(class, ink, out, to)
}

// head draws an open arrow head at b.
func (c *Canvas) head(class string, ink Ink, a, b orb.Point) {
	u := geom.Unit(geom.Sub(a, b))
	n := geom.Left(u)
	long := math.Min(9, geom.Dist(a, b)*0.7)
	back := geom.Add(b, geom.Mul(u, long))
	c.add(class, ink, false, []orb.Point{geom.Add(back, geom.Mul(n, long/2)), b, geom.Sub(back, geom.Mul(n, long/2))}, false)
}

func (c *Canvas) notch(f frame, p *pattern.Piece, n pattern.Notch, ink Ink) {
	depth := cmp.Or(n.Depth, 5)
	dir := inward(p, n)
	c.add("notch", ink, false, []orb.Point{f.at(n.At), f.at(geom.Add(n.At, geom.Mul(dir, depth)))}, false)
	c.add("", Ink{Colour: ink.Colour}, true, circle(f.at(n.At), 2), true)
}

// inward is the direction in which a notch points: its own where it has one, else square to the edge and into the
// piece.
func inward(p *pattern.Piece, n pattern.Notch) orb.Point {
	if n.AngleSaid {
		s, co := math.Sincos(n.AngleDeg * math.Pi / 180)
		return orb.Point{co, s}
	}
	o := p.Outline()
	if o == nil || len(o.Points) < 2 {
		return orb.Point{0, 1}
	}
	near := o.Nearest(n.At)
	a, b := o.Segment(near.Segment)
	in := geom.Left(geom.Unit(geom.Sub(b, a)))
	if !o.Contains(geom.Add(n.At, geom.Mul(in, 0.5))) {
		in = geom.Mul(in, -1)
	}
	return in
}
