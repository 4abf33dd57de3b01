package measured

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// stretch is a part of an edge that is faced, between two places where something is sewn into it: a
// dart, gathers or a princess seam. The legs point from its ends into the cloth, along what is sewn.
type stretch struct {
	c        curve
	from, to orb.Point
}

// faced is what a facing runs along: the line as sewn, and the edges beside it.
type faced struct{ edge, before, after outlineEdge }

// readFaced reads "front neck", and "back waist + outer waist" for edges in a row; darts and princess
// seams between are closed.
func (p *parser) readFaced() (*drawing, faced) {
	p.space()
	at := p.i
	d, i := p.drawingEdge()
	names := []string{d.edges[i].name}
	for p.sign('+') {
		p.ownName(d)
		names = append(names, d.edges[d.edgeNamed(p)].name)
	}
	f := d.form()
	in := make([]int, len(names))
	for k, name := range names {
		in[k] = indexOf(f.worn, name)
		switch {
		case in[k] < 0 || f.mouthEdge(in[k]):
			p.fail(at, quote(name)+" is the mouth of a dart", "name the edges beside it, with + between")
		case f.worn[in[k]].fold:
			p.fail(at, "a fold has no facing", "name the edge that is faced")
		}
	}
	if len(in) > 1 && !f.follows(in[0], in[1]) { // told against the outline's way
		for a, b := 0, len(in)-1; a < b; a, b = a+1, b-1 {
			in[a], in[b] = in[b], in[a]
		}
	}
	for k := 1; k < len(in); k++ {
		if !f.follows(in[k-1], in[k]) {
			p.fail(at, fmt.Sprintf("%q does not begin where %q ends", f.worn[in[k]].name, f.worn[in[k-1]].name), "name edges that follow one another, with nothing but darts between")
		}
	}
	return d, d.closedRun(p, at, f, in)
}

// ownName steps over the drawing's name before one of its edges, unless it begins the edge's own:
// "front edge" may be the edge of that name, or the edge "edge" of the drawing front.
func (p *parser) ownName(d *drawing) {
	for _, ed := range d.edges {
		if p.is(ed.name) >= 0 {
			return
		}
	}
	p.take(d.name)
}

// follows tells whether an edge is the next one, the mouth of a dart stepped over.
func (f *formed) follows(i, k int) bool {
	n := len(f.worn)
	next := (i + 1) % n
	if next != k && f.mouthEdge(next) {
		next = (next + 1) % n
	}
	return next == k
}

// mouthEdge tells an edge that is nothing but the mouth of a dart.
func (f *formed) mouthEdge(i int) bool {
	for _, m := range f.mouths {
		if c := f.edges[i].c; m.edge == i && geom.Dist(m.a, c.start()) < 1e-7 && geom.Dist(m.b, c.end()) < 1e-7 {
			return true
		}
	}
	return false
}

// closedRun joins the stretches of the edges as they are sewn: each is turned so that its leg lies on
// the leg of the one before. What holds the fold stays where it is.
func (d *drawing) closedRun(p *parser, at int, f *formed, in []int) faced {
	n := len(f.worn)
	out := faced{edge: f.worn[in[0]], before: f.worn[(in[0]+n-1)%n], after: f.worn[(in[len(in)-1]+1)%n]}
	var all []stretch
	for k, i := range in {
		parts := f.stretches(i)
		if ps, divided := d.dividedEdge(f.worn[i].name); divided {
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
	}
	for _, beside := range []outlineEdge{out.before, out.after} {
		if i := indexOf(f.worn, beside.name); i >= 0 && f.mouthEdge(i) {
			p.fail(at, fmt.Sprintf("the facing along %q ends at a dart", out.edge.name), "face both edges beside the dart: the one, +, and the other")
		}
	}
	m := geom.Identity
	line := append(curve(nil), all[0].c...)
	for k := 1; k < len(all); k++ {
		a, b := all[k-1], all[k]
		u, v := b.from, m.Vector(a.to)
		turn := geom.Rotate(math.Atan2(geom.Cross(u, v), geom.Dot(u, v)))
		if u == (orb.Point{}) { // nothing is sewn there: the one runs into the other
			turn = m
			turn.E, turn.F = 0, 0
		}
		q, w := line.end(), turn.Apply(b.c.start())
		m = geom.Translate(q[0]-w[0], q[1]-w[1]).After(turn)
		next := b.c.apply(m)
		next[0].a = q
		line = append(line, next...)
	}
	out.edge.c, out.after.c = line, out.after.c.apply(m)
	if back, ok := m.Inverse(); ok && out.after.fold {
		out.edge.c, out.before.c, out.after.c = line.apply(back), out.before.c.apply(back), out.after.c.apply(back)
	}
	return out
}

// stretches divides an edge as worn at the mouths in it; its own ends carry the legs of the darts that
// lie between it and the next edges.
func (f *formed) stretches(i int) []stretch {
	legs := func(q orb.Point, start bool) orb.Point {
		for _, m := range f.mouths {
			if end := m.b; start && geom.Dist(end, q) < 1e-7 {
				return geom.Unit(geom.Sub(m.p, end))
			} else if end := m.a; !start && geom.Dist(end, q) < 1e-7 {
				return geom.Unit(geom.Sub(m.p, end))
			}
		}
		return orb.Point{}
	}
	var out []stretch
	c := f.worn[i].c
	for k := 0; k < len(c); {
		j := k + 1
		for j < len(c) && geom.Dist(c[j-1].b, c[j].a) < 1e-7 {
			j++
		}
		out = append(out, stretch{c[k:j], legs(c[k].a, true), legs(c[j-1].b, false)})
		k = j
	}
	return out
}

// panelEdge is what one panel has of an edge that the princess seam divides.
type panelEdge struct {
	pn panel
	f  *formed
	i  int
}

// dividedEdge finds the two parts of an edge that the drawing's princess seam divides, in the order of
// the outline.
func (d *drawing) dividedEdge(name string) ([2]panelEdge, bool) {
	var out [2]panelEdge
	if d.princess.s == nil {
		return out, false
	}
	found := 0
	for _, pn := range d.divide() {
		f := pn.d.form()
		i := indexOf(f.worn, name)
		if i < 0 {
			continue
		}
		found++
		k := 0
		if (pn.seam+1)%len(f.worn) == i { // it begins at the seam
			k = 1
		}
		out[k] = panelEdge{pn, f, i}
	}
	return out, found == 2
}

// beside is the edge next to it on the panel, away from the seam.
func (e panelEdge) beside(way int) outlineEdge {
	n := len(e.f.worn)
	return e.f.worn[(e.i+way+n)%n]
}

// stretches are those of the panel's edge, the one at the seam with the seam as its leg.
func (e panelEdge) stretches() []stretch {
	out := e.f.stretches(e.i)
	seam := e.f.worn[e.pn.seam].c
	if (e.pn.seam+1)%len(e.f.worn) == e.i {
		out[0].from = geom.Mul(seam[len(seam)-1].dir(1), -1)
	} else {
		out[len(out)-1].to = seam[0].dir(0)
	}
	return out
}
