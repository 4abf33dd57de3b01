package measured

import (
	"fmt"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

var markVerbs = []string{"line", "slit", "drill at", "loop at", "text"}

// makeMarks reads what is drawn inside the pieces: "line A to B, called pocket line", "slit P to Q",
// "drill at P", "loop at P", "text at P: words".
func (e *engine) makeMarks() {
	en, ok := e.secs["marks"]
	if !ok {
		return
	}
	for _, x := range e.entries(en.node) {
		var pc *piece
		for _, q := range e.pieces {
			if q.name == x.key {
				pc = q
			}
		}
		if pc == nil && e.isGone(x.key) {
			continue
		}
		if pc == nil {
			var names []string
			for _, q := range e.pieces {
				names = append(names, q.name)
			}
			e.fault(x.keyNode, quote(x.key)+" is no piece of this draft", nearest(x.key, names))
			continue
		}
		for _, s := range e.list(x.node) {
			e.try(func() { (&parser{s: s, sc: pc.sc}).mark(pc) })
		}
	}
}

func (p *parser) mark(pc *piece) {
	e := p.sc.eng
	switch p.takeAny(markVerbs...) {
	case "line":
		p.innerLine(pc, "")
	case "slit":
		p.innerLine(pc, "slit")
	case "drill at":
		pc.drills = append(pc.drills, pc.flat(p.point()))
	case "loop at":
		at := pc.flat(p.point())
		half := 3 / e.unitMM
		pc.marks = append(pc.marks, innerLine{a: geom.Sub(at, orb.Point{half, 0}), b: geom.Add(at, orb.Point{half, 0}), name: "loop"})
	case "text":
		p.want("at", " and the point")
		at := pc.flat(p.point())
		p.sign(',')
		p.space()
		words := strings.TrimSpace(string(p.s.text[p.i:]))
		p.i = len(p.s.text)
		if words == "" {
			p.fail(p.i, "what the text says is missing", "")
		}
		pc.texts = append(pc.texts, pattern.Label{At: e.mm(at), Text: words})
	default:
		p.fail(p.i, quote(p.rest())+" is no mark", nearest(p.word(), markVerbs))
	}
	p.end()
}

func (p *parser) innerLine(pc *piece, name string) {
	a := p.point()
	p.want("to", " and where it ends")
	l := innerLine{a: pc.flat(a), b: pc.flat(p.point()), name: name}
	if p.sign(',') {
		p.want("called", "")
		p.space()
		l.name = strings.TrimSpace(string(p.s.text[p.i:]))
		p.i = len(p.s.text)
	}
	if geom.Dist(l.a, l.b) < p.sc.eng.hair() {
		p.fail(0, "the line ends where it begins, at "+spot(a), "")
	}
	pc.marks = append(pc.marks, l)
}

// dart is one drawn flat: its mouth lies between two points of the outline.
type dart struct {
	name    string
	s       *sentence
	a, p, b orb.Point
	cap     int // the edge that closes the mouth, -1 for none
}

// readDart reads "E1 to P to E2" and finds the cap: the edge between the two.
func (d *drawing) readDart(x entry) dart {
	p := &parser{s: x.s, sc: d.sc}
	t := dart{name: x.key, s: x.s, cap: -1}
	t.a = p.point()
	p.want("to", " and the dart's point")
	t.p = p.point()
	p.want("to", " and the dart's other leg")
	t.b = p.point()
	p.end()
	tol := d.sc.eng.hair()
	near := func(a, b orb.Point) bool { return geom.Dist(a, b) <= tol }
	for i, ed := range d.edges {
		s, f := ed.c.start(), ed.c.end()
		if near(s, t.a) && near(f, t.b) || near(s, t.b) && near(f, t.a) {
			t.cap = i
		}
	}
	if t.cap < 0 {
		p.fail(0, "no edge of the outline closes the mouth of the dart, from "+spot(t.a)+" to "+spot(t.b), "draw the cap as an edge between the two and name it in the outline")
	}
	return t
}

// makeDarts marks each dart on its piece and proves that its legs are equal and that the edge runs
// on true when it is closed.
func (pc *piece) makeDarts() {
	if pc.d == nil {
		return
	}
	e := pc.sc.eng
	for _, x := range pc.d.darts {
		if x.s == nil {
			continue
		}
		t := pc.d.readDart(x)
		pc.marks = append(pc.marks, innerLine{t.a, t.p, "dart leg", false}, innerLine{t.b, t.p, "dart leg", false})
		in := geom.Lerp(t.p, geom.Lerp(t.a, t.b, 0.5), 13/e.unitMM/geom.Dist(t.p, geom.Lerp(t.a, t.b, 0.5)))
		pc.drills = append(pc.drills, in) // half an inch short of the point, so that the hole is sewn in: common practice
		pc.notches = append(pc.notches, notchAt{at: t.a, edge: t.cap, kind: pattern.NotchNick, worn: -1}, notchAt{at: t.b, edge: t.cap, kind: pattern.NotchNick, worn: -1})
		la, lb := geom.Dist(t.a, t.p), geom.Dist(t.b, t.p)
		e.compareLengths(t.s, pc, fmt.Sprintf("the legs of the %s of %s", t.name, pc.name), la, lb, 0)
		pc.trueDart(t)
	}
}

func (pc *piece) trueDart(t dart) {
	n := len(pc.worn)
	prev, next := (t.cap+n-1)%n, (t.cap+1)%n
	a, b := pc.worn[t.cap].c.start(), pc.worn[t.cap].c.end()
	deg := angleBetween(geom.Mul(pc.worn[prev].c[len(pc.worn[prev].c)-1].dir(1), -1), geom.Sub(t.p, a)) +
		angleBetween(pc.worn[next].c[0].dir(0), geom.Sub(t.p, b))
	pc.sc.eng.tellCorner(t.s, pc, "the "+pc.worn[next].name+" at the "+t.name+" of "+pc.name, deg, b)
}
