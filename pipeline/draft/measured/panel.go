package measured

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// panel is what a princess seam leaves on one side of it.
type panel struct {
	d    *drawing
	seam int // the princess among its edges
	// up and down are how far from the seam's ends its notches stand.
	up, down float64
}

// side is one panel while the drawing is divided: its edges in order, from the seam round to the seam.
type side []outlineEdge

// divide makes the two panels. What each leg takes is halved between them; legs are made equal by
// carrying the shorter on, and the edges they end in are trued to run on across the seam.
func (d *drawing) divide() [2]panel {
	if ps, ok := d.panels.(*[2]panel); ok {
		return *ps
	}
	s := d.shaped()
	w := d.readPrincess()
	s.last = w.s
	mid, low := s.middle(w.top), s.middle(w.bottom)
	sides := w.parts(s)
	one, two := sides[0], sides[1]
	// Edges run away from the seam while it is made.
	t1, t2 := two[len(two)-1].c.reversed(), one[0].c
	b1, b2 := one[len(one)-1].c.reversed(), two[0].c
	n := geom.Left(geom.Unit(geom.Sub(low, w.x)))
	lies := [2]float64{sign(geom.Dot(b2[0].dir(0), n)), sign(geom.Dot(b1[0].dir(0), n))}
	across := t2[0].dir(0)
	upper := func(_ int, end orb.Point) curve { return w.upper(across, mid, low, end) }
	lower := func(k int, end orb.Point) curve { return w.lower(low, end, lies[k]).reversed() }
	ends := w.ends(t1.start(), t2.start(), low, false)
	upT := w.join(&t1, &t2, ends, upper)
	up := [2]curve{upper(0, ends[0]), upper(1, ends[1])}
	ends = w.ends(b2.start(), b1.start(), low, true)
	downT := w.join(&b2, &b1, ends, lower)
	down := [2]curve{lower(0, ends[0]).reversed(), lower(1, ends[1]).reversed()}
	two[len(two)-1].c, one[0].c = t1.reversed(), t2
	one[len(one)-1].c, two[0].c = b1.reversed(), b2
	out := farther(one, two)
	seams := [2]curve{append(append(curve(nil), up[1]...), down[1]...), append(append(curve(nil), up[0]...), down[0]...)}
	if w.ease != 0 {
		leg := upper(1-out, w.raise(up[1-out], sides[out], out == 0))
		seams[out] = w.eased(leg, down[1-out], sides[out])
	}
	if out == 1 { // the ring's second panel is the side panel, and the truings count its legs first
		upT.carried[0], upT.carried[1] = upT.carried[1], upT.carried[0]
		downT.carried[0], downT.carried[1] = downT.carried[1], downT.carried[0]
	}
	upT.at, downT.at = "princess of "+d.name+" at the "+w.top.name, "princess of "+d.name+" at the "+w.bottom.name
	d.sc.eng.truings = append(d.sc.eng.truings, upT, downT)
	away := [2]float64{up[0].length() - w.above, down[0].length() - w.below}
	seam := outlineEdge{name: "princess", line: w.s.lines[0], col: w.s.cols[0]}
	ps := [2]panel{
		w.panel(s, append(one, named(seam, seams[0].reversed())), away),
		w.panel(s, append(two, named(seam, seams[1])), away),
	}
	if d.flare().s != nil {
		f := d.readFlare()
		parts := f.between(s, ps[0].d.shaped(), ps[1].d.shaped())
		ps[0].d.shaped().spread(f, parts[0])
		ps[1].d.shaped().spread(f, parts[1])
	}
	for k := range ps {
		ps[k].d.takePleats()
	}
	d.panels = &ps
	return ps
}

func named(ed outlineEdge, c curve) outlineEdge { ed.c = c; return ed }

// parts cuts the ring at both ends of the seam: the first part runs from the upper end to the lower,
// the second back.
func (w princess) parts(s *shaping) [2]side {
	var out [2]side
	k := 0
	var head side // before the first end
	n := len(s.edges)
	for i := range n {
		ed := s.edges[i]
		var end *seamEnd
		switch i {
		case w.top.edge:
			end = &w.top
		case w.bottom.edge:
			end = &w.bottom
		default:
			if k == 0 {
				head = append(head, ed)
			} else {
				out[k-1] = append(out[k-1], ed)
			}
			continue
		}
		before, after := w.cut(s, *end)
		if len(before) > 0 {
			if k == 0 {
				head = append(head, named(ed, before))
			} else {
				out[k-1] = append(out[k-1], named(ed, before))
			}
		}
		k++
		if len(after) > 0 {
			out[k-1] = append(out[k-1], named(ed, after))
		}
	}
	out[1] = append(out[1], head...)
	if w.bottom.edge < w.top.edge {
		out[0], out[1] = out[1], out[0]
	}
	return out
}

// cut divides the edge at one end of the seam, taking so much out, or the mouth of a dart.
func (w princess) cut(s *shaping, end seamEnd) (before, after curve) {
	ed := s.edges[end.edge]
	c := ed.c
	if end.dart >= 0 {
		i := 0
		for c[i].mouth != end.dart+1 {
			i++
		}
		j := i
		for j < len(c) && c[j].mouth == end.dart+1 {
			j++
		}
		return c[:i:i], c[j:]
	}
	if half := math.Abs(end.take) / 2; end.l-half < 1e-6 || end.l+half > c.cloth()-1e-6 {
		w.parser.fail(0, fmt.Sprintf("%s taken at %s runs past the end of the edge %q, which is %s long", num(end.take), num(end.l), ed.name, num(c.cloth())), "take less, or let the seam begin further in")
	}
	if ed.fold {
		w.parser.fail(0, "the seam cannot end in the fold", "let it end in another edge")
	}
	from, to := c.onCloth(end.l-end.take/2), c.onCloth(end.l+end.take/2)
	for _, g := range c.between(from, to) {
		if g.mouth != 0 {
			w.parser.fail(0, fmt.Sprintf("the seam takes %s of the edge %q, and the %s lies there", num(end.take), ed.name, s.mouths[g.mouth-1].name), "let the seam take the dart's place: from, or to, "+s.mouths[g.mouth-1].name)
		}
	}
	return c.between(place{0, 0}, from), c.between(to, place{len(c) - 1, 1})
}

// farther is which of the two panels is the side panel: the one without the fold, or that lies
// farther from the centre.
func farther(one, two side) int {
	out := [2]float64{}
	for k, edges := range []side{one, two} {
		for _, ed := range edges {
			if ed.fold {
				return 1 - k
			}
			out[k] += ed.c.start()[0] / float64(len(edges))
		}
	}
	if out[0] > out[1] {
		return 0
	}
	return 1
}

// panel is a drawing of its own, with what of darts lies in it.
func (w princess) panel(s *shaping, edges side, away [2]float64) panel {
	d := s.d
	p := &drawing{name: d.name, sc: d.sc, outline: d.outline, edges: edges, state: 2, whole: d}
	ring := &shaping{d: p, edges: edges, stages: s.stages, closed: s.closed, last: w.s}
	for m, o := range s.mouths {
		c := *o
		ring.mouths = append(ring.mouths, &c)
		a, b, ok := ring.legs(m)
		if !ok {
			continue
		}
		end, mid := o.end(a, b), geom.Lerp(a, b, 0.5)
		end = geom.Lerp(end, mid, 0.3/d.sc.eng.unitMM/geom.Dist(end, mid)) // it may end in the seam
		if runsThrough(edges[len(edges)-1].c, geom.Path{Points: []orb.Point{a, end, b}}) {
			w.parser.fail(0, "the seam runs through the "+o.name, "let the seam take its place, or move the dart")
		}
	}
	line, _ := d.sc.eng.flattenTo(edges, 0.2)
	for _, t := range s.inside {
		if runsThrough(edges[len(edges)-1].c, t.line()) {
			w.parser.fail(0, "the seam runs through the "+t.name, "leave that dart out: the seam takes what it takes")
		}
		if line.Contains(d.sc.eng.mm(t.wide[0])) {
			ring.inside = append(ring.inside, t)
		}
	}
	p.shape = ring
	return panel{d: p, seam: len(edges) - 1, up: away[0], down: away[1]}
}

// runsThrough tells whether a curve crosses a line.
func runsThrough(c curve, line geom.Path) bool {
	var path geom.Path
	path.Points = append(path.Points, c.start())
	for _, g := range c {
		path.Points = g.flatten(path.Points, 1e-3)
	}
	return len(geom.Crossings(path, line)) > 0
}

// between shares the slashes of a flare among two panels: they are set out along what both have of the
// upper edge, the one that lies first along it first. The answer is in parts of each panel's own.
func (f flareTold) between(whole, one, two *shaping) [2][]float64 {
	var out [2][]float64
	own := [2]float64{}
	panels := [2]*shaping{one, two}
	first := 0
	for k, p := range panels {
		if i := indexOf(p.edges, f.top); i >= 0 {
			own[k] = p.edges[i].c.cloth()
			if geom.Dist(p.edges[i].c.start(), whole.edges[indexOf(whole.edges, f.top)].c.start()) < p.d.sc.eng.hair() {
				first = k
			}
		}
	}
	for _, u := range f.parts() {
		l, k := u*(own[0]+own[1]), first
		if l > own[k] {
			l, k = l-own[k], 1-k
		}
		out[k] = append(out[k], l/own[k])
	}
	for k, p := range panels {
		if indexOf(p.edges, f.hem) < 0 && len(out[k]) > 0 {
			f.parser.fail(0, fmt.Sprintf("the princess seam leaves one panel without a part of the edge %q", f.hem), "flare between two edges that the seam divides, or say flared on each panel in the princess seam")
		}
	}
	return out
}

// takePleats keeps those pleats of the whole drawing that lie in this panel.
func (d *drawing) takePleats() {
	fold := false
	for _, ed := range d.edges {
		fold = fold || ed.fold
	}
	for _, x := range d.whole.pleats {
		if onFold := x.s != nil && foldAhead(cursor{s: x.s}); onFold && fold || !onFold && d.crossedBy(x) {
			d.pleats = append(d.pleats, x)
		}
	}
}

// crossedBy tells whether a pleat of the whole drawing lies in this part of it.
func (d *drawing) crossedBy(x entry) bool {
	before := len(d.sc.eng.faults)
	ok := d.sc.eng.try(func() {
		pl := d.readPleat(x)
		d.carryPleat(&pl)
		for _, i := range []int{pl.e1, pl.e2} {
			if len(d.shaped().edges[i].c.meets(pl.l.p, pl.l.u)) == 0 {
				panic(blocked{})
			}
		}
	})
	d.sc.eng.faults = d.sc.eng.faults[:before] // the other part reads it too, or the seam runs through it
	return ok
}

// notches sets one above the bust point and two below it, in a back two above and one below (single in
// front, double behind: common practice), measured from the seam's ends, so that they meet on both panels,
// neither can be sewn upside down, and no front panel to a back one.
func (pn panel) notches(pc *piece) {
	c := pc.worn[pn.seam].c
	gap := 8 / pc.sc.eng.unitMM // as of any double notch
	set := func(l float64, top bool) {
		if l <= 0 {
			return
		}
		if top == (c.start()[1] > c.end()[1]) {
			l = c.length() - l
		}
		pc.notches = append(pc.notches, notchAt{at: pc.place(pn.seam, l), edge: pn.seam, kind: pattern.NotchNick, worn: l})
	}
	set(pn.up, true)
	set(pn.down, false)
	if slices.Contains(strings.Fields(pn.d.name), "back") {
		set(pn.up-gap, true)
	} else {
		set(pn.down-gap, false)
	}
}
