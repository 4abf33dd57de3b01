package measured

import (
	"fmt"
	"math"

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

// fullness is a stretch of a cut edge, from a to b, that is gathered or eased until it is as long as worn.
type fullness struct {
	edge int
	a, b orb.Point
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

// makeDarts marks each dart on its piece, and where fullness begins and ends, and proves that a dart's
// legs are equal and that the edge runs on true when it is closed.
func (e *garment) makeDarts(pc *piece) {
	if pc.form == nil {
		return
	}
	nick := func(q orb.Point, edge int) {
		pc.notches = append(pc.notches, notchAt{at: pc.opened(q), edge: edge, kind: pattern.NotchNick, worn: -1})
	}
	for _, t := range pc.form.darts {
		mid := geom.Lerp(t.a, t.b, 0.5)
		in := geom.Lerp(t.p, mid, 13/e.unitMM/geom.Dist(t.p, mid)) // half an inch short of the point, so that the hole is sewn in: common practice
		a, b, p := pc.opened(t.a), pc.opened(t.b), pc.opened(t.p)
		pc.marks = append(pc.marks, innerLine{a: a, b: p, name: "dart leg"}, innerLine{a: b, b: p, name: "dart leg"})
		pc.drills = append(pc.drills, pc.opened(in))
		nick(t.a, t.edge)
		nick(t.b, t.edge)
		e.compareLengths(t.s, pc, fmt.Sprintf("the legs of the %s of %s", t.name, pc.name), geom.Dist(t.a, t.p), geom.Dist(t.b, t.p), 0)
		deg := angleBetween(geom.Mul(t.in, -1), geom.Sub(t.p, t.a)) + angleBetween(t.out, geom.Sub(t.p, t.b))
		n := len(pc.edges)
		name := pc.edges[t.edge].name
		if own := pc.form.edges[t.edge].c; own.start() == t.a && own.end() == t.b { // its own cap
			name = pc.edges[(t.edge+1)%n].name
		}
		e.tellCorner(t.s, pc, "the "+name+" at the "+t.name+" of "+pc.name, deg, t.b, "say trued in the dart's sentence, and the edge is bent to run on across it")
	}
	pc.markInside()
	for _, c := range pc.form.points {
		e.tellCorner(c.told.s, pc, c.what+" "+pc.name, c.deg, c.at, "say trued in the dart's sentence, and the edges are bent to run on")
	}
	for _, f := range pc.form.full {
		nick(f.a, f.edge)
		nick(f.b, f.edge)
	}
}
