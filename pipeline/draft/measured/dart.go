package measured

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// dart is one as it lies flat on the cut piece: its mouth lies between two points of the outline.
type dart struct {
	name    string
	s       *sentence
	a, p, b orb.Point // the legs' ends at the edge, in the order of the outline, and the dart's point
	in, out orb.Point // how the edge runs into the mouth and goes on behind it
	edge    int       // the edge in which the mouth lies
}

// dartTold is what a dart's sentence says: where it is drawn, and where shares of it are moved.
type dartTold struct {
	name    string
	s       *sentence
	a, p, b orb.Point
	cap     int // the edge that closes the mouth
	about   orb.Point
	moves   []dartMove
	short   float64 // how far short of the apex the moved darts end
	folded  string  // to which side they are pressed
	parser  *parser
}

// dartMove is a share of a dart swung about the apex to another place of the outline.
type dartMove struct {
	share float64
	edge  int
	l     float64 // along that edge
}

// formed is a drawing with its darts where they are sewn.
type formed struct {
	worn  []outlineEdge // darts sewn: the stretches of an edge without the mouths in it
	edges []outlineEdge // as cut
	darts []dart
	// sectors are the parts that were turned about the apex, as they were drawn.
	sectors []sector
}

type sector struct {
	was geom.Path
	to  geom.Affine
}

// carry brings a point of the drawing to where it lies once the darts are moved.
func (f *formed) carry(q orb.Point) orb.Point {
	best, at := math.Inf(1), q
	for _, s := range f.sectors {
		d := s.was.Nearest(q).Dist
		if s.was.Contains(q) {
			d = 0
		}
		if d < best-1e-9 {
			best, at = d, s.to.Apply(q)
		}
	}
	return at
}

var dartWords = []string{"moved to", "half moved to", "about", "ending", "folded"}

// readDart reads "E1 to P to E2, half moved to side at K, about X, ending 2 short, folded down".
func (d *drawing) readDart(x entry) dartTold {
	p := &parser{s: x.s, sc: d.sc}
	t := dartTold{name: x.key, s: x.s, cap: -1, parser: p}
	t.a = p.point()
	p.want("to", " and the dart's point")
	t.p = p.point()
	p.want("to", " and the dart's other leg")
	t.b = p.point()
	tol := d.sc.eng.hair()
	near := func(a, b orb.Point) bool { return geom.Dist(a, b) <= tol }
	for i, ed := range d.edges {
		s, f := ed.c.start(), ed.c.end()
		if near(s, t.b) && near(f, t.a) {
			t.a, t.b = t.b, t.a
		}
		if near(s, t.a) && near(f, t.b) {
			t.cap = i
		}
	}
	if t.cap < 0 {
		p.fail(0, "no edge of the outline closes the mouth of the dart, from "+spot(t.a)+" to "+spot(t.b), "draw the cap as an edge between the two and name it in the outline")
	}
	t.about = t.p
	for p.sign(',') {
		d.dartClause(p, &t)
	}
	p.end()
	d.soundDart(p, t)
	return t
}

func (d *drawing) dartClause(p *parser, t *dartTold) {
	p.space()
	begin := p.i
	share := 1.0
	if p.is("moved to") < 0 && p.is("about") < 0 && p.is("ending") < 0 && p.is("folded") < 0 {
		switch {
		case p.take("half"):
			share = 0.5
		case p.i < len(p.s.text) && !wordRune(p.s.text[p.i]), p.word() != "" && p.word()[0] >= '0' && p.word()[0] <= '9':
			share = p.sum()
		default:
			p.fail(begin, p.seen()+" is not said of a dart", nearest(firstWords(p.phrase(), 2), dartWords))
		}
		if p.is("moved to") < 0 {
			p.fail(p.i, p.seen()+" is not said of a share of a dart", "say moved to, and the edge")
		}
	}
	switch p.takeAny("moved to", "about", "ending", "folded") {
	case "moved to":
		if share <= 0 || share > 1 {
			p.fail(begin, num(share)+" of a dart cannot be moved", "say half, 1/3, or nothing for the whole")
		}
		m := dartMove{share: share, edge: d.edgeNamed(p)}
		p.want("at", " and the point of that edge to which the dart is moved")
		at := p.i
		q := p.point()
		m.l = nearestOn(d.edges[m.edge].c, q)
		if m.l < 0 || m.edge == t.cap {
			p.fail(at, spot(q)+" does not lie on the edge "+quote(d.edges[m.edge].name), "name a point along that edge")
		}
		t.moves = append(t.moves, m)
	case "about":
		t.about = p.point()
	case "ending":
		t.short = p.sum()
		p.want("short", " and how far before the apex the dart ends")
		if t.short < 0 {
			p.fail(begin, "a dart cannot end "+num(t.short)+" short of its apex", "say 0 or more")
		}
	case "folded":
		if t.folded = p.takeAny("out", "back", "up", "down"); t.folded == "" {
			p.fail(p.i, "to which side the dart is folded is not said", "say out, back, up or down")
		}
	}
}

func firstWords(s string, n int) string {
	f := strings.Fields(s)
	return strings.Join(f[:min(n, len(f))], " ")
}

// soundDart refuses a move that geometry does not allow.
func (d *drawing) soundDart(p *parser, t dartTold) {
	if len(t.moves) == 0 {
		return
	}
	sum := 0.0
	for _, m := range t.moves {
		sum += m.share
	}
	if sum > 1+1e-9 {
		p.fail(0, "more of the dart is moved than there is: the shares add to "+num(sum), "shares add to 1 at most")
	}
	ra, rb := geom.Dist(t.about, t.a), geom.Dist(t.about, t.b)
	if math.Abs(ra-rb) > d.sc.eng.hair()*10 {
		p.fail(0, fmt.Sprintf("the dart's legs end %s and %s from the point about which it is moved", num(ra), num(rb)), "take a point as far from both, or make the legs equal")
	}
}

// moveDart closes a dart by what is moved and opens it where it goes: the piece is cut from the apex
// to each place and its parts are turned about the apex, so that the angle stays.
func (d *drawing) moveDart(t dartTold) *formed {
	n := len(d.edges)
	type station struct {
		order int
		l     float64
		share float64
	}
	var st []station
	left := 1.0
	for _, m := range t.moves {
		st = append(st, station{(m.edge - t.cap - 1 + n) % n, m.l, m.share})
		left -= m.share
	}
	sort.SliceStable(st, func(i, j int) bool {
		return st[i].order < st[j].order || st[i].order == st[j].order && st[i].l < st[j].l
	})
	u, v := geom.Sub(t.a, t.about), geom.Sub(t.b, t.about)
	angle := math.Atan2(geom.Cross(u, v), geom.Dot(u, v))
	maps := d.turns(t, len(st), func(k int) (int, float64, float64) { return st[k].order, st[k].l, st[k].share * angle })
	f := &formed{}
	k := 0
	for order := range n - 1 {
		ed := d.edges[(t.cap+1+order)%n]
		worn, cut := ed, ed
		var parts []curve
		at := place{0, 0}
		first := k
		for ; k < len(st) && st[k].order == order; k++ {
			to := ed.c.placeAt(st[k].l)
			parts = append(parts, ed.c.between(at, to).apply(maps[k]))
			at = to
		}
		parts = append(parts, ed.c.between(at, place{len(ed.c) - 1, 1}).apply(maps[k]))
		worn.c, cut.c = nil, nil
		for i, part := range parts {
			if len(part) == 0 {
				t.parser.fail(0, "a dart cannot be moved to the end of an edge, at "+spot(maps[first].Apply(ed.c.start())), "name a point along the edge, not its end")
			}
			if i > 0 {
				m := d.mouth(t, parts[i-1], part, order)
				cut.c = append(cut.c, m.capOf(t, parts[i-1], part)...)
				f.darts = append(f.darts, m)
			}
			worn.c, cut.c = append(worn.c, part...), append(cut.c, part...)
		}
		f.worn, f.edges = append(f.worn, worn), append(f.edges, cut)
	}
	f.sectors = d.sectorsOf(t, maps, func(k int) (int, float64) { return st[k].order, st[k].l })
	if left > 1e-9 {
		last, next := f.edges[n-2].c, f.edges[0].c
		m := d.mouth(t, last, next, n-1)
		cap := d.edges[t.cap]
		cap.c = m.capOf(t, last, next)
		f.darts = append(f.darts, m)
		f.worn, f.edges = append(f.worn, cap), append(f.edges, cap)
	}
	return f
}

// turns gives each part between two cuts its turn about the apex. What holds the fold, or else lies
// nearest to the centre, stays.
func (d *drawing) turns(t dartTold, cuts int, cut func(int) (order int, l, angle float64)) []geom.Affine {
	n := len(d.edges)
	rest, least, folded := 0, math.Inf(1), false
	k := 0
	for order := range n - 1 {
		ed := d.edges[(t.cap+1+order)%n]
		for k < cuts {
			if o, _, _ := cut(k); o >= order {
				break
			}
			k++
		}
		if x := ed.c.start()[0]; !folded && (ed.fold || x < least-1e-9) {
			rest, least, folded = k, x, ed.fold
		}
	}
	maps := make([]geom.Affine, cuts+1)
	turned := make([]float64, cuts+1)
	for k := range cuts {
		_, _, a := cut(k)
		turned[k+1] = turned[k] + a
	}
	for k := range maps {
		maps[k] = geom.Translate(t.about[0], t.about[1]).After(geom.Rotate(turned[k] - turned[rest])).After(geom.Translate(-t.about[0], -t.about[1]))
	}
	return maps
}

// sectorsOf are the parts as drawn, each with its turn, for points that are carried along.
func (d *drawing) sectorsOf(t dartTold, maps []geom.Affine, cut func(int) (order int, l float64)) []sector {
	n := len(d.edges)
	var out []sector
	pts := []orb.Point{t.about, t.b}
	k := 0
	for order := range n - 1 {
		c := d.edges[(t.cap+1+order)%n].c
		at := place{0, 0}
		flat := func(to place) {
			for _, s := range c.between(at, to) {
				pts = s.flatten(pts, 0.01/d.sc.eng.unitMM)
			}
			at = to
		}
		for ; k < len(maps)-1; k++ {
			o, l := cut(k)
			if o != order {
				break
			}
			flat(c.placeAt(l))
			out = append(out, sector{geom.Path{Points: pts, Closed: true}, maps[k]})
			pts = []orb.Point{t.about, c[at.i].at(at.t)}
		}
		flat(place{len(c) - 1, 1})
	}
	return append(out, sector{geom.Path{Points: pts, Closed: true}, maps[k]})
}

// mouth is the dart between two stretches of the outline.
func (d *drawing) mouth(t dartTold, before, after curve, edge int) dart {
	m := dart{name: t.name, s: t.s, a: before.end(), b: after.start(), in: before[len(before)-1].dir(1), out: after[0].dir(0), edge: edge}
	mid := geom.Lerp(m.a, m.b, 0.5)
	if l := geom.Dist(t.about, mid); t.short >= l {
		t.parser.fail(0, fmt.Sprintf("the dart is %s long from its edge to the apex, and should end %s short", num(l), num(t.short)), "let it end less far short")
	}
	m.p = geom.Add(t.about, geom.Mul(geom.Unit(geom.Sub(mid, t.about)), t.short))
	return m
}

// capOf closes a dart's mouth as the scissors do that cut through the folded dart: the edge on the
// side to which it is folded, mirrored in that leg up to the dart's middle, then back in the middle.
func (m dart) capOf(t dartTold, before, after curve) curve {
	mid := geom.Lerp(m.a, m.b, 0.5)
	fold := t.folded
	if v := geom.Sub(mid, m.p); fold == "" {
		fold = "back" // toward the centre; a bust dart from the side is folded down: common practice
		if math.Abs(v[0]) > math.Abs(v[1]) {
			fold = "down"
		}
	}
	way := map[string]orb.Point{"out": {1, 0}, "back": {-1, 0}, "up": {0, -1}, "down": {0, 1}}[fold]
	first := geom.Dot(geom.Sub(m.a, m.b), way) > 0
	leg, side := m.a, before.reversed()
	if !first {
		leg, side = m.b, after
	}
	last := side[len(side)-1]
	side = append(append(curve{}, side...), lineSeg(last.b, geom.Add(last.b, geom.Mul(last.dir(1), 2*geom.Dist(m.a, m.b)))))
	half := side.apply(geom.MirrorLine(leg, m.p))
	ps := half.meets(m.p, geom.Unit(geom.Sub(mid, m.p)))
	if len(ps) == 0 {
		t.parser.fail(0, "no cap closes the mouth of the dart at "+spot(mid)+": the edge runs along the dart", "move the dart, or fold it to the other side")
	}
	half = half.between(place{0, 0}, ps[0])
	whole := append(half, half.apply(geom.MirrorLine(m.p, mid)).reversed()...)
	if !first {
		return whole.reversed()
	}
	return whole
}

// form is the drawing with its darts where they are sewn; worked out once.
func (d *drawing) form() *formed {
	if d.formed != nil {
		return d.formed
	}
	if d.flare.s != nil {
		d.formed = d.flared()
		return d.formed
	}
	f := &formed{worn: d.edges, edges: d.edges}
	moved := false
	for _, x := range d.darts {
		if x.s == nil {
			continue
		}
		t := d.readDart(x)
		switch {
		case len(t.moves) == 0:
			n := len(d.edges)
			before, after := d.edges[(t.cap+n-1)%n].c, d.edges[(t.cap+1)%n].c
			f.darts = append(f.darts, dart{t.name, t.s, t.a, t.p, t.b, before[len(before)-1].dir(1), after[0].dir(0), t.cap})
		case moved || len(d.darts) > 1:
			t.parser.fail(0, "one dart of a drawing can be moved, and only where it is the only one", "move it in a drawing of its own, and trace that")
		default:
			f, moved = d.moveDart(t), true
		}
	}
	d.formed = f
	return f
}

// makeDarts marks each dart on its piece and proves that its legs are equal and that the edge runs
// on true when it is closed.
func (pc *piece) makeDarts() {
	if pc.form == nil {
		return
	}
	e := pc.sc.eng
	for _, t := range pc.form.darts {
		mid := geom.Lerp(t.a, t.b, 0.5)
		pc.marks = append(pc.marks, innerLine{t.a, t.p, "dart leg", false}, innerLine{t.b, t.p, "dart leg", false})
		in := geom.Lerp(t.p, mid, 13/e.unitMM/geom.Dist(t.p, mid))
		pc.drills = append(pc.drills, in) // half an inch short of the point, so that the hole is sewn in: common practice
		pc.notches = append(pc.notches, notchAt{at: t.a, edge: t.edge, kind: pattern.NotchNick, worn: -1}, notchAt{at: t.b, edge: t.edge, kind: pattern.NotchNick, worn: -1})
		e.compareLengths(t.s, pc, fmt.Sprintf("the legs of the %s of %s", t.name, pc.name), geom.Dist(t.a, t.p), geom.Dist(t.b, t.p), 0)
		deg := angleBetween(geom.Mul(t.in, -1), geom.Sub(t.p, t.a)) + angleBetween(t.out, geom.Sub(t.p, t.b))
		n := len(pc.edges)
		name := pc.edges[t.edge].name
		if pc.edges[t.edge].c.start() == t.a && pc.edges[t.edge].c.end() == t.b { // its own cap
			name = pc.edges[(t.edge+1)%n].name
		}
		e.tellCorner(t.s, pc, "the "+name+" at the "+t.name+" of "+pc.name, deg, t.b)
	}
}
