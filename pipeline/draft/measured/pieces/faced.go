package pieces

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/darts"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/panels"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// stretch is a part of an edge that is faced, between two places where something is sewn into it: a
// dart, gathers or a princess seam. The legs point from its ends into the cloth, along what is sewn.
type stretch struct {
	c        curve.Curve
	from, to orb.Point
}

// faced is what a facing runs along: the line as sewn, and the edges beside it. Where the one beside it is the end of a
// button stand, a facing that is deeper than that runs on along the next one.
type faced struct {
	edge, before, after    curve.Edge
	parts                  []part // the edges of which it is made, in order
	beyondFirst, beyondEnd *curve.Edge
}

// part is one edge of what is faced, and how many stretches of the line are its own.
type part struct {
	edge     curve.Edge
	segments int
}

// edges divides the line into the edges of which it is made: each has its own name, and so its own allowance.
func (f faced) edges() []curve.Edge {
	var out []curve.Edge
	at := 0
	for _, p := range f.parts {
		ed := p.edge
		ed.Curve = f.edge.Curve[at : at+p.segments]
		out, at = append(out, ed), at+p.segments
	}
	return out
}

// beside are the edges beside what is faced, for a facing so deep.
func (f faced) beside(depth float64) (before, after curve.Edge) {
	before, after = f.before, f.after
	if o := f.beyondFirst; o != nil && before.Curve.Length() < depth {
		before.Name, before.Curve = o.Name, append(slices.Clone(o.Curve), before.Curve...)
	}
	if o := f.beyondEnd; o != nil && after.Curve.Length() < depth {
		after.Name, after.Curve = o.Name, append(slices.Clone(after.Curve), o.Curve...)
	}
	return before, after
}

// standEnd tells an edge that leads to one that is extended.
func standEnd(d *drafting.Drawing, name string) bool {
	return slices.ContainsFunc(d.Extended, func(ed curve.Edge) bool { return strings.HasSuffix(name, " end of "+ed.Name) })
}

// readFaced reads "front neck", and "back waist + outer waist" for edges in a row; darts and princess
// seams between are closed.
func (e *Garment) readFaced(p *tree.Parser) (*drafting.Drawing, func() faced) {
	p.Space()
	at := p.At
	d, name := e.drawingEdge(p)
	names := []string{name}
	for p.Sign('+') {
		ownName(p, d)
		names = append(names, d.EdgeNamed(p))
	}
	return d, func() faced { return facedRun(d, p, at, names) }
}

// facedRun finds the edges in the drawing as it is sewn, in the order of the outline.
func facedRun(d *drafting.Drawing, p *tree.Parser, at int, names []string) (none faced) {
	f := darts.FormOf(d)
	if f == nil {
		return none
	}
	in := make([]int, len(names))
	for k, name := range names {
		in[k] = curve.IndexOf(f.Worn, name)
		switch {
		case in[k] < 0 || mouthEdge(f, in[k]):
			p.Refuse(at, sentence.Quote(name)+" is the mouth of a dart", "name the edges beside it, with + between")
			return none
		case f.Worn[in[k]].Fold:
			p.Refuse(at, "a fold has no facing", "name the edge that is faced")
		}
	}
	if len(in) > 1 && !follows(f, in[0], in[1]) && standBetween(d, f, in[0], in[1]) < 0 { // told against the outline's way
		slices.Reverse(in)
	}
	run := in[:1:1]
	for k := 1; k < len(in); k++ {
		if !follows(f, in[k-1], in[k]) {
			end := standBetween(d, f, in[k-1], in[k])
			if end < 0 {
				p.Refuse(at, fmt.Sprintf("%q does not begin where %q ends", f.Worn[in[k]].Name, f.Worn[in[k-1]].Name), "name edges that follow one another, with nothing but darts between")
			}
			run = append(run, end)
		}
		run = append(run, in[k])
	}
	if p.Scope.Context.Blocked() {
		return none
	}
	return closedRun(d, p, at, f, run)
}

// standBetween is the short end of a button stand that alone lies between two edges of which one is extended, -1 for none.
func standBetween(d *drafting.Drawing, f *darts.Formed, i, k int) int {
	end := (i + 1) % len(f.Worn)
	for _, ed := range d.Extended {
		if (ed.Name == f.Worn[i].Name || ed.Name == f.Worn[k].Name) && strings.HasSuffix(f.Worn[end].Name, " end of "+ed.Name) && follows(f, end, k) {
			return end
		}
	}
	return -1
}

// ownName steps over the drawing's name before one of its edges, unless it begins the edge's own:
// "front edge" may be the edge of that name, or the edge "edge" of the drawing front.
func ownName(p *tree.Parser, d *drafting.Drawing) {
	if slices.ContainsFunc(d.EdgeNames(), func(n string) bool { return p.Is(n) >= 0 }) {
		return
	}
	p.Take(d.Name)
}

// follows tells whether an edge is the next one, the mouth of a dart stepped over.
func follows(f *darts.Formed, i, k int) bool {
	n := len(f.Worn)
	next := (i + 1) % n
	if next != k && mouthEdge(f, next) {
		next = (next + 1) % n
	}
	return next == k
}

// mouthEdge tells an edge that is nothing but the mouth of a dart.
func mouthEdge(f *darts.Formed, i int) bool {
	for _, m := range f.Mouths {
		if c := f.Edges[i].Curve; m.Edge == i && geom.Dist(m.LegA, c.Start()) < 1e-7 && geom.Dist(m.LegB, c.End()) < 1e-7 {
			return true
		}
	}
	return false
}

// closedRun joins the stretches of the edges as they are sewn: each is turned so that its leg lies on
// the leg of the one before. The part with the fold stays where it is.
func closedRun(d *drafting.Drawing, p *tree.Parser, at int, f *darts.Formed, in []int) faced {
	n := len(f.Worn)
	out := faced{edge: f.Worn[in[0]], before: f.Worn[(in[0]+n-1)%n], after: f.Worn[(in[len(in)-1]+1)%n]}
	var all []stretch
	for k, i := range in {
		parts := stretches(f, i)
		ps, divided := dividedEdge(d, f.Worn[i].Name)
		if d.Scope.Context.Blocked() {
			return out
		}
		if divided {
			one, two := ps[0], ps[1]
			if k == 0 {
				out.before = one.beside(-1)
			}
			if k == len(in)-1 {
				out.after = two.beside(1)
			}
			parts = append(one.stretches(), two.stretches()...)
		}
		all = append(all, parts...)
		own := part{edge: f.Worn[i]}
		for _, s := range parts {
			own.segments += len(s.c)
		}
		out.parts = append(out.parts, own)
	}
	for _, beside := range []curve.Edge{out.before, out.after} {
		if i := curve.IndexOf(f.Worn, beside.Name); i >= 0 && mouthEdge(f, i) {
			p.Refuse(at, fmt.Sprintf("the facing along %q ends at a dart", out.edge.Name), "face both edges beside the dart: the one, +, and the other")
		}
	}
	first, last := in[0], in[len(in)-1]
	if standEnd(d, out.before.Name) {
		next := f.Worn[(first+n-2)%n]
		out.beyondFirst = &next
	}
	line, m := closeUp(all)
	if standEnd(d, out.after.Name) {
		next := f.Worn[(last+2)%n]
		next.Curve = next.Curve.Apply(m)
		out.beyondEnd = &next
	}
	out.edge.Curve, out.after.Curve = line, out.after.Curve.Apply(m)
	if back, ok := m.Inverse(); ok && out.after.Fold {
		out.edge.Curve, out.before.Curve, out.after.Curve = line.Apply(back), out.before.Curve.Apply(back), out.after.Curve.Apply(back)
		if o := out.beyondFirst; o != nil {
			o.Curve = o.Curve.Apply(back)
		}
	}
	return out
}

// closeUp joins stretches as they are sewn, and gives the way of the last one to its place.
func closeUp(all []stretch) (curve.Curve, geom.Affine) {
	m := geom.Identity
	line := append(curve.Curve(nil), all[0].c...)
	for k := 1; k < len(all); k++ {
		a, b := all[k-1], all[k]
		u, v := b.from, m.Vector(a.to)
		turn := geom.Rotate(math.Atan2(geom.Cross(u, v), geom.Dot(u, v)))
		if u == (orb.Point{}) { // nothing is sewn there: the one runs into the other
			turn = m
			turn.E, turn.F = 0, 0
		}
		q, w := line.End(), turn.Apply(b.c.Start())
		m = geom.Translate(q[0]-w[0], q[1]-w[1]).After(turn)
		next := b.c.Apply(m)
		next[0].From = q
		line = append(line, next...)
	}
	return line, m
}

// stretches divides an edge as worn at the mouths in it; its own ends carry the legs of the darts that
// lie between it and the next edges.
func stretches(f *darts.Formed, i int) []stretch {
	legs := func(q orb.Point, start bool) orb.Point {
		for _, m := range f.Mouths {
			if end := m.LegB; start && geom.Dist(end, q) < 1e-7 {
				return geom.Unit(geom.Sub(m.Apex, end))
			} else if end := m.LegA; !start && geom.Dist(end, q) < 1e-7 {
				return geom.Unit(geom.Sub(m.Apex, end))
			}
		}
		return orb.Point{}
	}
	var out []stretch
	c := f.Worn[i].Curve
	for k := 0; k < len(c); {
		j := k + 1
		for j < len(c) && geom.Dist(c[j-1].To, c[j].From) < 1e-7 {
			j++
		}
		out = append(out, stretch{c[k:j], legs(c[k].From, true), legs(c[j-1].To, false)})
		k = j
	}
	return out
}

// panelEdge is what one panel has of an edge that the princess seam divides.
type panelEdge struct {
	pn panels.Panel
	f  *darts.Formed
	i  int
}

// dividedEdge finds the two parts of an edge that the drawing's princess seam divides, in the order of
// the outline.
func dividedEdge(d *drafting.Drawing, name string) ([2]panelEdge, bool) {
	var out [2]panelEdge
	if d.PrincessEntry.Sentence == nil {
		return out, false
	}
	found := 0
	ps := panels.Divide(d)
	if ps == nil {
		return out, false
	}
	for _, pn := range ps {
		f := darts.FormOf(pn.Drawing)
		if f == nil {
			return out, false
		}
		i := curve.IndexOf(f.Worn, name)
		if i < 0 {
			continue
		}
		found++
		k := 0
		if (pn.Seam+1)%len(f.Worn) == i { // it begins at the seam
			k = 1
		}
		out[k] = panelEdge{pn, f, i}
	}
	return out, found == 2
}

// beside is the edge next to it on the panel, away from the seam.
func (e panelEdge) beside(way int) curve.Edge {
	n := len(e.f.Worn)
	return e.f.Worn[(e.i+way+n)%n]
}

// stretches are those of the panel's edge, the one at the seam with the seam as its leg.
func (e panelEdge) stretches() []stretch {
	out := stretches(e.f, e.i)
	seam := e.f.Worn[e.pn.Seam].Curve
	if (e.pn.Seam+1)%len(e.f.Worn) == e.i {
		out[0].from = geom.Mul(seam[len(seam)-1].Dir(1), -1)
	} else {
		out[len(out)-1].to = seam[0].Dir(0)
	}
	return out
}
