package measured

import (
	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// unfold opens the pleats: the worn outline is divided at the folds, each layer is mirrored about
// the fold before it, and the layers are set beside each other as they lie in the cloth.
func (d *drawing) unfold(all []pleat, edges []outlineEdge, prev *opened) *opened {
	e1, e2 := all[0].e1, all[0].e2
	o := &opened{before: prev, e1: e1, e2: e2, maps: []geom.Affine{geom.Identity}, seen: []seenFrom{{layer: 0}}}
	for _, pl := range all {
		o.add(pl, d)
	}
	at1 := all[0].turns[0].a
	o.ahead = edges[e1].c[at1.i].dir(at1.t)
	n := len(edges)
	far := o.maps[len(o.maps)-1]
	o.edges = append([]outlineEdge(nil), edges...)
	for i := (e1 + 1) % n; i != e2; i = (i + 1) % n {
		o.edges[i].c = edges[i].c.apply(far)
	}
	c1, c2 := edges[e1].c, edges[e2].c
	start, end := place{0, 0}, place{len(c1) - 1, 1}
	var out1 curve
	at := start
	for k, t := range o.turns {
		out1 = append(out1, c1.between(at, t.a).apply(o.maps[k])...)
		at = t.a
	}
	o.edges[e1].c = append(out1, c1.between(at, end).apply(far)...)
	var out2 curve
	at = place{0, 0}
	for k := len(o.turns) - 1; k >= 0; k-- {
		out2 = append(out2, c2.between(at, o.turns[k].b).apply(o.maps[k+1])...)
		at = o.turns[k].b
	}
	o.edges[e2].c = append(out2, c2.between(at, place{len(c2) - 1, 1}).apply(geom.Identity)...)
	for i := range o.turns {
		t := &o.turns[i]
		t.flatA, t.flatB = o.maps[i].Apply(c1[t.a.i].at(t.a.t)), o.maps[i].Apply(c2[t.b.i].at(t.b.t))
		o.lines = append(o.lines, innerLine{t.flatA, t.flatB, t.name, true, [2]int{e1, e2}})
		if t.placed {
			m := o.maps[t.comes]
			o.lines = append(o.lines, innerLine{m.Apply(c1[t.a.i].at(t.a.t)), m.Apply(c2[t.b.i].at(t.b.t)), "placement", true, [2]int{e1, e2}})
		}
	}
	if prev != nil {
		for _, l := range prev.lines {
			l.a, l.b = o.own(l.a), o.own(l.b)
			o.lines = append(o.lines, l)
		}
		for _, q := range prev.tacks {
			o.tacks = append(o.tacks, o.own(q))
		}
	}
	return o
}

// add brings in one pleat's folds.
func (o *opened) add(pl pleat, d *drawing) {
	first := len(o.turns)
	for k, t := range pl.turns {
		m := o.maps[len(o.maps)-1]
		if t.outer && (pl.kind == "knife" || pl.kind == "box") {
			t.placed, t.comes = true, first+k/2*2
			if k%2 == 0 { // the fold comes first and lies over what follows
				t.comes += 2
			}
		}
		o.turns = append(o.turns, t)
		o.maps = append(o.maps, m.After(geom.MirrorLine(t.at, t.to)))
	}
	last := len(o.maps) - 1
	a, b := pl.first, pl.second
	switch {
	case pl.onFold:
		o.seen = []seenFrom{{layer: last}}
	case pl.kind == "box":
		o.seen = append(o.seen, seenFrom{first + 2, pl.turns[1].at, pl.turns[1].to}, seenFrom{last, pl.turns[2].at, pl.turns[2].to})
	default:
		o.seen = append(o.seen, seenFrom{last, a, b})
	}
	if pl.kind == "inverted box" && !pl.onFold {
		m := o.maps[first+2]
		o.lines = append(o.lines, innerLine{m.Apply(a), m.Apply(b), "placement", true, [2]int{o.e1, o.e2}})
	}
	if pl.stitchedTo != nil {
		o.tack(pl, first, d)
	}
}

// tack marks the end of the stitching on each outer fold, 3 mm inside it (common practice).
func (o *opened) tack(pl pleat, first int, d *drawing) {
	for k, t := range pl.turns {
		if !t.outer {
			continue
		}
		from, to := t.at, t.to
		if pl.stitchedFrom == o.e2 {
			from, to = to, from
		}
		u := geom.Unit(geom.Sub(to, from))
		l := geom.Dot(u, geom.Sub(*pl.stitchedTo, from)) - 3/d.sc.eng.unitMM
		if l > 0 {
			o.tacks = append(o.tacks, o.maps[first+k].Apply(geom.Add(from, geom.Mul(u, l))))
		}
	}
}

// flat brings a point of the worn shape to the cut piece, in the layer that is seen there.
func (o *opened) flat(q orb.Point) orb.Point {
	if o == nil {
		return q
	}
	return o.own(o.before.flat(q))
}

// own does so for these pleats alone, those before them opened.
func (o *opened) own(q orb.Point) orb.Point {
	m := o.maps[o.seen[0].layer]
	for _, s := range o.seen[1:] {
		if o.past(s, q) {
			m = o.maps[s.layer]
		}
	}
	return m.Apply(q)
}

// past tells whether a point lies beyond a line, on the side toward which the first edge runs.
func (o *opened) past(s seenFrom, q orb.Point) bool {
	u := geom.Sub(s.to, s.at)
	side := geom.Cross(u, geom.Sub(q, s.at))
	if geom.Cross(u, o.ahead) < 0 {
		side = -side
	}
	return side > -1e-9*geom.Norm(u)
}

// place brings a point of an edge, as it lies pleats closed, onto the same edge as cut: where a pleat's
// fold reaches the edge's end, the edge tells in which layer it lies.
func (o *opened) place(edge int, at orb.Point) orb.Point {
	if o == nil {
		return at
	}
	at = o.before.place(edge, at)
	if edge == o.e1 || edge == o.e2 {
		return o.own(at)
	}
	n := len(o.edges)
	for k := (o.e1 + 1) % n; k != o.e2; k = (k + 1) % n {
		if k == edge {
			return o.maps[len(o.maps)-1].Apply(at)
		}
	}
	return at
}
