package darts

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// isAtEdge tells a dart that is told by where it stands on an edge: "at D, takes 2, 9 long", or "to P".
func isAtEdge(x sentence.Entry) bool {
	if x.Sentence == nil || (&sentence.Cursor{Sentence: x.Sentence}).Is("at") < 0 {
		return false
	}
	to, and := false, false
	for p := (&sentence.Cursor{Sentence: x.Sentence}); p.At < len(x.Sentence.Text); p.At++ {
		if p.At > 0 && sentence.IsWordRune(x.Sentence.Text[p.At-1]) {
			continue
		}
		switch {
		case p.Is("long") >= 0:
			return true
		case p.Is("to") >= 0:
			to = true
		case p.Is("and") >= 0:
			and = true
		}
	}
	return to && !and
}

// readAtEdge reads "at D, takes 2, 9 long", which runs square into the piece, and "at D, takes 2, to P".
// What it takes is measured along the edge, half of it on either side of D.
func (t *dartSentence) readAtEdge() {
	p := t.parser
	p.Want("at", "")
	t.atRune = p.At
	t.at = p.Point()
	t.takes = dartTakes(p, "at the edge")
	if p.Take("to") {
		t.point = p.Point()
		return
	}
	t.long = p.SumWhere(tree.MoreThan0, "a dart cannot be %s long", "say more than 0")
	p.Want("long", " and how long the dart is")
}

// setAtEdge finds the edge on which the dart stands, and the ends of its legs on it.
func (t *drawnDart) setAtEdge(d *drafting.Drawing) {
	p, c, take := t.parser, t.at(), t.takes()
	t.edge = -1
	var l float64
	for i, ed := range d.Edges {
		if s := curve.NearestOn(ed.Curve, c); s >= 0 && !ed.Fold {
			t.edge, l = i, s
		}
	}
	if t.edge < 0 {
		p.Refuse(t.atRune, t.parser.Where(c)+" does not lie on an edge of the outline", "take it along the edge, along waist 9 from W; inside the piece a dart runs 15 up and 12 down")
		return
	}
	edge := d.Edges[t.edge]
	t.from, t.to = l-take/2, l+take/2
	if t.from <= 0 || t.to >= edge.Curve.Length() {
		p.Unfit(t.atRune, fmt.Sprintf("the dart would reach past the end of the edge %q, which is %s long", edge.Name, t.parser.Say(edge.Curve.Length())), "move it along, or let it take less")
		return
	}
	t.a, _ = edge.Curve.At(t.from)
	t.b, _ = edge.Curve.At(t.to)
	if t.point != nil {
		t.p = t.point()
	} else {
		square := geom.Mul(geom.Left(geom.Unit(geom.Sub(t.b, t.a))), t.long()*curve.Orientation(d.Edges))
		t.p = geom.Add(geom.Lerp(t.a, t.b, 0.5), square)
	}
	t.holds(d)
}

// holds refuses a dart whose legs leave the piece.
func (t *drawnDart) holds(d *drafting.Drawing) {
	const inset = 0.2 // mm from the edge, so that the mouth itself does not count
	e := d.Scope.Context
	line, _ := e.FlattenTo(d.Edges, 0.05)
	for _, leg := range []orb.Point{t.a, t.b} {
		from := geom.Lerp(leg, t.p, inset/e.UnitMM/geom.Dist(leg, t.p))
		if !line.Contains(e.ToMM(t.p)) || len(geom.Crossings(geom.Path{Points: []orb.Point{e.ToMM(from), e.ToMM(t.p)}}, line)) > 0 {
			t.parser.Unfit(0, "the dart runs out of the piece at its point "+t.parser.Where(t.p), "make it shorter, or set its point inside")
		}
	}
}

// mouthInEdge makes the stretch of an edge that lies between a dart's legs the mouth of that number.
func (s *Ring) mouthInEdge(t *drawnDart, number int) {
	c := s.Edges[t.edge].Curve
	from, to := c.PlaceAt(t.from), c.PlaceAt(t.to)
	mouth := c.Between(from, to)
	for _, g := range mouth {
		if g.Mouth != 0 {
			t.parser.Refuse(0, "it overlaps the "+s.Mouths[g.Mouth-1].Name, "lay the two apart")
		}
	}
	before, after := c.Between(curve.Place{Index: 0, T: 0}, from), c.Between(to, curve.Place{Index: len(c) - 1, T: 1})
	s.Edges[t.edge].Curve = append(append(before, markMouth(mouth, number)...), after...)
}

// evenLegs lengthens the shorter leg of a dart at an edge until it is as long as the other. Its end then lies
// past the edge as drawn: the stretch beside it is drawn anew to that end, and is trued.
func (s *Ring) evenLegs(t *drawnDart, m int) {
	e, to := s.Drawing.Scope.Context, t.p
	la, lb := geom.Dist(t.a, to), geom.Dist(t.b, to)
	by := math.Abs(la - lb)
	if by <= e.Hair() {
		return
	}
	k, end := 0, &t.a
	if lb < la {
		k, end = 1, &t.b
	}
	*end = geom.Add(to, geom.Mul(geom.Unit(geom.Sub(*end, to)), math.Max(la, lb)))
	t.carried[k] = by
	t.trued = true
	_, from, behind := s.mouthAt(m)
	c := s.Edges[t.edge].Curve
	beside := [2]int{from - 1, behind}[k]
	stretch := c[beside]
	if stretch.Length() <= by {
		t.parser.Unfit(0, fmt.Sprintf("the dart leans so far that its shorter leg is lengthened by %s, and only %s of the edge lies beside it", t.parser.Say(by), t.parser.Say(stretch.Length())), "set its point nearer to square under its mouth")
		return
	}
	if k == 0 {
		stretch = curve.CarriedTo(stretch.Reversed(), t.a).Reversed()
	} else {
		stretch = curve.CarriedTo(stretch, t.b)
	}
	c = c.With(beside, stretch)
	mouth := curve.LineSeg(t.a, t.b)
	mouth.Mouth = m + 1
	s.Edges[t.edge].Curve = append(append(c[:from:from], mouth), c[behind:]...)
}
