// Package panels divides a drawing by a princess seam: it takes a drawing's Ring and gives two panels, each
// a drawing of its own with its share of darts, flare and pleats. Legs of the seam are of one length and
// the edges they end in run on across it. Lengths are in the draft's unit.
package panels

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/darts"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/pleats"
	"tracewheel/pipeline/draft/measured/tree"
)

// Panel is what a princess seam leaves on one side of it.
type Panel struct {
	Drawing *drafting.Drawing
	Seam    int // the princess among its edges
	// up and down are how far from the seam's ends its notches stand.
	Up, Down float64
	told     *tree.Parser
}

// Names tells whether the sentence of the princess seam names something itself.
func (p *Panel) Names(d *tree.Definition) bool { return p.told.Names(d) }

// side is one panel while the drawing is divided: its edges in order, from the seam round to the seam.
type side []curve.Edge

// Divide makes the two panels; nil where that is refused. What each leg takes is halved between them; legs are made
// equal by carrying the shorter on, and the edges they end in are trued to run on across the seam.
func Divide(d *drafting.Drawing) *[2]Panel {
	if v := divisionOf(d); v != nil {
		return &v.panels
	}
	return nil
}

// division is what a princess seam makes of a drawing: its panels, and the whole cloth where it is folded.
type division struct {
	panels [2]Panel
	whole  *drafting.Drawing
}

func divisionOf(d *drafting.Drawing) *division {
	return drafting.Once(d, &d.Panels, func() *division {
		s, seam := darts.RingOf(d), Read(d)
		if seam == nil { // told where it was read
			d.Scope.Context.Block()
		}
		if s == nil || seam == nil {
			return nil
		}
		if w := seam.workOut(s); w != nil {
			return w.divide(s)
		}
		return nil
	})
}

// divide cuts the ring along the seam.
func (w *princess) divide(s *darts.Ring) *division {
	d := s.Drawing
	e := d.Scope.Context
	s.Last = w.s
	mid, low := middleOf(s, w.top), middleOf(s, w.bottom)
	sides := w.parts(s)
	if e.Blocked() {
		return nil
	}
	one, two := sides[0], sides[1]
	// Edges run away from the seam while it is made.
	t1, t2 := two[len(two)-1].Curve.Reversed(), one[0].Curve
	b1, b2 := one[len(one)-1].Curve.Reversed(), two[0].Curve
	n := geom.Left(geom.Unit(geom.Sub(low, w.x)))
	lies := [2]float64{curve.Sign(geom.Dot(b2[0].Dir(0), n)), curve.Sign(geom.Dot(b1[0].Dir(0), n))}
	across := t2[0].Dir(0)
	upper := func(_ int, end orb.Point) curve.Curve { return w.upper(across, mid, low, end) }
	lower := func(k int, end orb.Point) curve.Curve { return w.lower(low, end, lies[k]).Reversed() }
	ends := w.ends(t1.Start(), t2.Start(), low, false)
	upT := w.join(&t1, &t2, ends, upper)
	up := [2]curve.Curve{upper(0, ends[0]), upper(1, ends[1])}
	ends = w.ends(b2.Start(), b1.Start(), low, true)
	downT := w.join(&b2, &b1, ends, lower)
	down := [2]curve.Curve{lower(0, ends[0]).Reversed(), lower(1, ends[1]).Reversed()}
	two[len(two)-1].Curve, one[0].Curve = t1.Reversed(), t2
	one[len(one)-1].Curve, two[0].Curve = b1.Reversed(), b2
	var out division
	if w.folded {
		if out.whole = w.whole(s, one, two, [2][2]curve.Curve{{up[1], down[1]}, {up[0], down[0]}}); e.Blocked() {
			return nil
		}
	}
	side := farther(one, two)
	seams := [2]curve.Curve{append(append(curve.Curve(nil), up[1]...), down[1]...), append(append(curve.Curve(nil), up[0]...), down[0]...)}
	if w.ease != 0 {
		leg := upper(1-side, w.raise(up[1-side], sides[side], side == 0))
		seams[side] = w.eased(leg, down[1-side], sides[side])
	}
	if side == 1 { // the ring's second panel is the side panel, and the truings count its legs first
		upT.Carried[0], upT.Carried[1] = upT.Carried[1], upT.Carried[0]
		downT.Carried[0], downT.Carried[1] = downT.Carried[1], downT.Carried[0]
	}
	upT.At, downT.At = "princess of "+d.Name+" at the "+w.top.name, "princess of "+d.Name+" at the "+w.bottom.name
	d.Scope.Context.Truings = append(d.Scope.Context.Truings, upT, downT)
	away := [2]float64{up[0].Length() - w.above, down[0].Length() - w.below}
	seam := func(c curve.Curve) curve.Edge {
		return curve.Edge{Name: "princess", Curve: c, Line: w.s.Line, Column: w.s.Column}
	}
	out.panels = [2]Panel{
		w.panel(s, append(one, seam(seams[0].Reversed())), away),
		w.panel(s, append(two, seam(seams[1])), away),
	}
	ps := &out.panels
	if f := darts.FlareOf(d); f != nil {
		rings := [2]*darts.Ring{darts.RingOf(ps[0].Drawing), darts.RingOf(ps[1].Drawing)}
		if e.Blocked() {
			return nil
		}
		parts := shareFlare(f, s, rings)
		for k := range rings {
			rings[k].Spread(f, parts[k])
		}
	}
	if e.Blocked() {
		return nil
	}
	for k := range ps {
		var own []*pleats.Sentence
		for _, pl := range pleats.Read(d) {
			if pl.CrossesPart(ps[k].Drawing) {
				own = append(own, pl)
			}
		}
		ps[k].Drawing.Pleats = own
	}
	return &out
}

// parts cuts the ring at both ends of the seam: the first part runs from the upper end to the lower,
// the second back.
func (w *princess) parts(s *darts.Ring) [2]side {
	var parts [3]side // up to the first end, between both, and behind the second
	k := 0
	put := func(ed curve.Edge, c curve.Curve) {
		if ed.Curve = c; len(c) > 0 {
			parts[k] = append(parts[k], ed)
		}
	}
	for i, ed := range s.Edges {
		if i != w.top.edge && i != w.bottom.edge {
			put(ed, ed.Curve)
			continue
		}
		end := w.top
		if i == w.bottom.edge {
			end = w.bottom
		}
		before, after := w.cut(s, end)
		put(ed, before)
		k++
		put(ed, after)
	}
	out := [2]side{parts[1], append(parts[2], parts[0]...)}
	if w.bottom.edge < w.top.edge {
		out[0], out[1] = out[1], out[0]
	}
	return out
}

// cut divides the edge at one end of the seam, taking so much out, or the mouth of a dart.
func (w *princess) cut(s *darts.Ring, end seamEnd) (before, after curve.Curve) {
	ed := s.Edges[end.edge]
	c := ed.Curve
	if end.dart >= 0 {
		i := 0
		for c[i].Mouth != end.dart+1 {
			i++
		}
		j := i
		for j < len(c) && c[j].Mouth == end.dart+1 {
			j++
		}
		return c[:i:i], c[j:]
	}
	if half := math.Abs(end.take) / 2; end.l-half < 1e-6 || end.l+half > darts.ClothLength(c)-1e-6 {
		w.parser.Unfit(0, fmt.Sprintf("%s taken at %s runs past the end of the edge %q, which is %s long", w.parser.Say(end.take), w.parser.Say(end.l), ed.Name, w.parser.Say(darts.ClothLength(c))), "take less, or let the seam begin further in")
		return nil, nil
	}
	if ed.Fold {
		w.parser.Refuse(0, "the seam cannot end in the fold", "let it end in another edge")
	}
	from, to := darts.PlaceOnCloth(c, end.l-end.take/2), darts.PlaceOnCloth(c, end.l+end.take/2)
	for _, g := range c.Between(from, to) {
		if g.Mouth != 0 {
			w.parser.Refuse(0, fmt.Sprintf("the seam takes %s of the edge %q, and the %s lies there", w.parser.Say(end.take), ed.Name, s.Mouths[g.Mouth-1].Name), "let the seam take the dart's place: from, or to, "+s.Mouths[g.Mouth-1].Name)
		}
	}
	return c.Between(curve.Place{Index: 0, T: 0}, from), c.Between(to, curve.Place{Index: len(c) - 1, T: 1})
}

// farther is which of the two panels is the side panel: the one without the fold, or that lies
// farther from the centre.
func farther(one, two side) int {
	out := [2]float64{}
	for k, edges := range []side{one, two} {
		for _, ed := range edges {
			if ed.Fold {
				return 1 - k
			}
			out[k] += ed.Curve.Start()[0] / float64(len(edges))
		}
	}
	if out[0] > out[1] {
		return 0
	}
	return 1
}

// panel is a drawing of its own, with what of darts lies in it.
func (w *princess) panel(s *darts.Ring, edges side, away [2]float64) Panel {
	d := s.Drawing
	p := d.Part(edges)
	ring := &darts.Ring{Drawing: p, Edges: edges, Stages: s.Stages, Closed: s.Closed, Last: w.s}
	for m, o := range s.Mouths {
		c := *o
		ring.Mouths = append(ring.Mouths, &c)
		a, b, ok := ring.Legs(m)
		if !ok {
			continue
		}
		end, mid := o.End(a, b), geom.Lerp(a, b, 0.5)
		end = geom.Lerp(end, mid, 0.3/d.Scope.Context.UnitMM/geom.Dist(end, mid)) // it may end in the seam
		if runsThrough(edges[len(edges)-1].Curve, geom.Path{Points: []orb.Point{a, end, b}}) {
			w.parser.Refuse(0, "the seam runs through the "+o.Name, "let the seam take its place, or move the dart")
		}
	}
	line, _ := d.Scope.Context.FlattenTo(edges, 0.2)
	for _, t := range s.Inside {
		if runsThrough(edges[len(edges)-1].Curve, t.Line()) {
			w.parser.Refuse(0, "the seam runs through the "+t.Name, "leave that dart out: the seam takes what it takes")
		}
		if line.Contains(d.Scope.Context.ToMM(t.Wide[0])) {
			ring.Inside = append(ring.Inside, t)
		}
	}
	p.Ring = ring
	return Panel{Drawing: p, Seam: len(edges) - 1, Up: away[0], Down: away[1], told: w.parser}
}

// runsThrough tells whether a curve crosses a line.
func runsThrough(c curve.Curve, line geom.Path) bool {
	var path geom.Path
	path.Points = append(path.Points, c.Start())
	for _, g := range c {
		path.Points = g.Flatten(path.Points, 1e-3)
	}
	return len(geom.Crossings(path, line)) > 0
}

// shareFlare shares the slashes of a flare among two panels: they are set out along what both have of the
// upper edge, the one that lies first along it first. The answer is in parts of each panel's own.
func shareFlare(f *darts.Flare, whole *darts.Ring, panels [2]*darts.Ring) [2][]float64 {
	var out [2][]float64
	own := [2]float64{}
	first := 0
	for k, p := range panels {
		if i := curve.IndexOf(p.Edges, f.Top); i >= 0 {
			own[k] = darts.ClothLength(p.Edges[i].Curve)
			if geom.Dist(p.Edges[i].Curve.Start(), whole.Edges[curve.IndexOf(whole.Edges, f.Top)].Curve.Start()) < p.Drawing.Scope.Context.Hair() {
				first = k
			}
		}
	}
	for _, u := range f.Parts() {
		l, k := u*(own[0]+own[1]), first
		if l > own[k] {
			l, k = l-own[k], 1-k
		}
		out[k] = append(out[k], l/own[k])
	}
	for k, p := range panels {
		if curve.IndexOf(p.Edges, f.Hem) < 0 && len(out[k]) > 0 {
			f.Parser.Refuse(0, fmt.Sprintf("the princess seam leaves one panel without a part of the edge %q", f.Hem), "flare between two edges that the seam divides, or say flared on each panel in the princess seam")
		}
	}
	return out
}
