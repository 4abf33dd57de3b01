package pleats

import (
	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/drafting"
)

// unfold opens the pleats: the worn outline is divided at the folds, each layer is mirrored about
// the fold before it, and the layers are set beside each other as they lie in the cloth.
func unfold(d *drafting.Drawing, all []pleat, edges []curve.Edge, prev *Opened) *Opened {
	e1, e2 := all[0].FirstEdge, all[0].SecondEdge
	o := &Opened{Before: prev, e1: e1, e2: e2, maps: []geom.Affine{geom.Identity}, seen: []seenFrom{{layer: 0}}, Edges: append([]curve.Edge(nil), edges...)}
	for _, pl := range all {
		o.add(pl, d)
	}
	at1 := all[0].turns[0].a
	o.Ahead = edges[e1].Curve[at1.Index].Dir(at1.T)
	n := len(edges)
	far := o.maps[len(o.maps)-1]
	for i := (e1 + 1) % n; i != e2; i = (i + 1) % n {
		o.Edges[i].Curve = edges[i].Curve.Apply(far)
	}
	c1, c2 := edges[e1].Curve, edges[e2].Curve
	start, end := curve.Place{Index: 0, T: 0}, curve.Place{Index: len(c1) - 1, T: 1}
	var out1 curve.Curve
	at := start
	for k, t := range o.Turns {
		out1 = append(out1, c1.Between(at, t.a).Apply(o.maps[k])...)
		at = t.a
	}
	o.Edges[e1].Curve = append(out1, c1.Between(at, end).Apply(far)...)
	var out2 curve.Curve
	at = curve.Place{Index: 0, T: 0}
	for k := len(o.Turns) - 1; k >= 0; k-- {
		out2 = append(out2, c2.Between(at, o.Turns[k].b).Apply(o.maps[k+1])...)
		at = o.Turns[k].b
	}
	o.Edges[e2].Curve = append(out2, c2.Between(at, curve.Place{Index: len(c2) - 1, T: 1}).Apply(geom.Identity)...)
	for i := range o.Turns {
		t := &o.Turns[i]
		t.FlatA, t.FlatB = o.maps[i].Apply(c1[t.a.Index].At(t.a.T)), o.maps[i].Apply(c2[t.b.Index].At(t.b.T))
		o.Lines = append(o.Lines, InnerLine{From: t.FlatA, To: t.FlatB, Name: t.name, Ends: true, At: [2]int{e1, e2}})
		if t.placed {
			m := o.maps[t.comes]
			o.Lines = append(o.Lines, InnerLine{From: m.Apply(c1[t.a.Index].At(t.a.T)), To: m.Apply(c2[t.b.Index].At(t.b.T)), Name: "placement", Ends: true, At: [2]int{e1, e2}})
		}
	}
	if prev != nil {
		for _, l := range prev.Lines {
			l.From, l.To = o.own(l.From), o.own(l.To)
			o.Lines = append(o.Lines, l)
		}
		for _, q := range prev.Tacks {
			o.Tacks = append(o.Tacks, o.own(q))
		}
	}
	return o
}

// add brings in one pleat's folds.
func (o *Opened) add(pl pleat, d *drafting.Drawing) {
	first := len(o.Turns)
	for k, t := range pl.turns {
		m := o.maps[len(o.maps)-1]
		if t.outer && (pl.kind == "knife" || pl.kind == "box") {
			t.placed, t.comes = true, first+k/2*2
			if k%2 == 0 { // the fold comes first and lies over what follows
				t.comes += 2
			}
		}
		o.Turns = append(o.Turns, t)
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
		o.Lines = append(o.Lines, InnerLine{From: m.Apply(a), To: m.Apply(b), Name: "placement", Ends: true, At: [2]int{o.e1, o.e2}})
	}
	if pl.stitchedTo != nil {
		o.tack(pl, first, d)
	}
}

// tack marks the end of the stitching on each outer fold, 3 mm inside it (common practice).
func (o *Opened) tack(pl pleat, first int, d *drafting.Drawing) {
	for k, t := range pl.turns {
		if !t.outer {
			continue
		}
		from, to := t.at, t.to
		if pl.stitched == o.Edges[o.e2].Name {
			from, to = to, from
		}
		u := geom.Unit(geom.Sub(to, from))
		l := geom.Dot(u, geom.Sub(*pl.stitchedTo, from)) - 3/d.Scope.Context.UnitMM
		if l > 0 {
			o.Tacks = append(o.Tacks, o.maps[first+k].Apply(geom.Add(from, geom.Mul(u, l))))
		}
	}
}

// Flat brings a point of the worn shape to the cut piece, in the layer that is seen there.
func (o *Opened) Flat(q orb.Point) orb.Point {
	if o == nil {
		return q
	}
	return o.own(o.Before.Flat(q))
}

// own does so for these pleats alone, those before them opened.
func (o *Opened) own(q orb.Point) orb.Point {
	m := o.maps[o.seen[0].layer]
	for _, s := range o.seen[1:] {
		if o.past(s, q) {
			m = o.maps[s.layer]
		}
	}
	return m.Apply(q)
}

// past tells whether a point lies beyond a line, on the side toward which the first edge runs.
func (o *Opened) past(s seenFrom, q orb.Point) bool {
	u := geom.Sub(s.to, s.at)
	side := geom.Cross(u, geom.Sub(q, s.at))
	if geom.Cross(u, o.Ahead) < 0 {
		side = -side
	}
	return side > -1e-9*geom.Norm(u)
}

// Place brings a point of an edge, as it lies pleats closed, onto the same edge as cut: where a pleat's
// fold reaches the edge's end, the edge tells in which layer it lies.
func (o *Opened) Place(edge int, at orb.Point) orb.Point {
	if o == nil {
		return at
	}
	at = o.Before.Place(edge, at)
	if edge == o.e1 || edge == o.e2 {
		return o.own(at)
	}
	n := len(o.Edges)
	for k := (o.e1 + 1) % n; k != o.e2; k = (k + 1) % n {
		if k == edge {
			return o.maps[len(o.maps)-1].Apply(at)
		}
	}
	return at
}
