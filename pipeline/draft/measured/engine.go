package measured

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
	yaml "go.yaml.in/yaml/v4"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// drawing is one part as it is drafted, with its outline and what is folded into it.
type drawing struct {
	name    string
	sc      *scope
	outline *sentence
	edges   []outlineEdge // in order round the piece, once worked out
	state   int
	pleats  []entry
	shapes  []entry // darts and flare, in the order in which they are told
	// princess divides the drawing in two panels, which are drawings of their own.
	princess entry
	whole    *drawing // of a panel
	// shape, formed, opened and panels are what is worked out of it above, once; a trial forgets them.
	shape, formed, opened, panels any
}

// outlineEdge is one edge of a piece, running the way the outline does.
type outlineEdge struct {
	name string
	c    curve
	fold bool
	line int
	col  int
}

var onTheFold = []string{"on the fold", "on fold"}

// engine draws one draft for one body.
type engine struct {
	doc       *document
	unit      string
	unitMM    float64
	top       *scope
	draws     map[string]*drawing
	drawOrder []string
	faults    []Fault
	busy      []*def // being worked out, each for the one before
	begun     []*def // what was worked out for a number that is only supposed
	trials    int    // how many of these there are, one within the other
	nameLists map[nameKey][]string
	body      string
	asked     string // the body's name before a card told its wearer's
	measures  []measure
	unlikely  []Fault    // measures that are, should the drawing fail
	cardAt    *yaml.Node // where the draft names its card
	findings  []pattern.Finding
	secs      map[string]entry
	changes   []change
	ofPieces  ofPieces
	truings   []truing
}

// ofPieces measures what a number may ask of the pieces that are made of drawings. Each reads its words
// from the parser and refuses, there, what is not known.
type ofPieces interface {
	// EdgeNames lists the edges of all pieces, each with its piece's name before it.
	EdgeNames() []string
	// EdgeLength is how long an edge of a piece is as worn.
	EdgeLength(p *parser) float64
	// Width is how wide a drawing is at a point's level; sewn, without what its darts take there.
	Width(p *parser, sewn bool) float64
	// Radius is the radius of the seam of a circle that fits it.
	Radius(p *parser) float64
}

func newEngine(doc *document) *engine {
	e := &engine{doc: doc, unitMM: 1, draws: map[string]*drawing{}, nameLists: map[nameKey][]string{}}
	e.top = newScope(e, nil, "")
	return e
}

// measure is one of a body's, in the draft's unit, with its place in the file.
type measure struct {
	name  string
	value float64
	s     *sentence
	unit  string // in which it was taken
}

// hair is how far apart, in the draft's unit, two ends may lie and still be one point: far below
// what a pen draws, far above rounding.
func (e *engine) hair() float64 { return 0.001 / e.unitMM }

// caught keeps the fault of a refused sentence; what was only blocked by one is not told again.
func (e *engine) caught(r any) {
	switch v := r.(type) {
	case stop:
		e.faults = append(e.faults, v.f)
	case blocked:
	default:
		panic(r)
	}
}

// try runs f and keeps the fault it stops with; false then.
func (e *engine) try(f func()) (ok bool) {
	defer func() {
		if r := recover(); r != nil {
			e.caught(r)
			ok = false
		}
	}()
	f()
	return true
}

func (e *engine) fault(n *yaml.Node, text, mend string) {
	e.faults = append(e.faults, Fault{File: e.doc.name, Line: n.Line, Column: n.Column, Text: text, Mend: mend})
}

// outlineOf is a drawing's outline as worn, one closed curve.
func (e *engine) outlineOf(name string, p *parser, at int) curve {
	d := e.draws[name]
	d.work(e, p, at)
	var c curve
	for _, ed := range d.edges {
		c = append(c, ed.c...)
	}
	return c
}

// work chains a drawing's edges into its outline.
func (d *drawing) work(e *engine, asker *parser, at int) {
	switch d.state {
	case 2:
		return
	case 3:
		panic(blocked{})
	case 1:
		asker.fail(at, quote(d.name)+" leads back to its own outline", "")
	}
	d.state = 1
	if !e.try(func() { d.chain() }) {
		d.state = 3
		panic(blocked{})
	}
	d.state = 2
}

func (d *drawing) chain() {
	if d.outline == nil {
		panic(stop{Fault{File: d.sc.eng.doc.name, Line: d.sc.eng.doc.lineOf[d.name], Column: 1,
			Text: "the drawing " + quote(d.name) + " has no outline", Mend: "add outline: and its edges in order"}})
	}
	p := newParser(d.outline, d.sc)
	var starts []int
	for {
		p.space()
		at := p.i
		def := p.takeDef(isCurve)
		ed := outlineEdge{name: def.name, c: def.c, line: def.line, col: def.col}
		ed.fold = p.takeAny(onTheFold...) != ""
		if ed.fold && (len(ed.c) != 1 || ed.c[0].cubic || ed.c[0].isArc()) {
			p.fail(at, "the fold "+quote(def.name)+" is not straight", "a fold is one straight line")
		}
		d.edges = append(d.edges, ed)
		starts = append(starts, at)
		if !p.sign(',') {
			break
		}
	}
	p.end()
	d.orient(p, starts)
	d.uncrossed(p, starts)
}

// uncrossed refuses an outline that runs through itself, which some bodies make of a draft that is
// sound for others. Coarse chords find nearly all outlines sound at once; fine ones decide.
func (d *drawing) uncrossed(p *parser, starts []int) {
	for _, tol := range []float64{0.2, geom.FlattenTol} {
		line, firsts := d.sc.eng.flattenTo(d.edges, tol)
		found := line.SelfCrossings(1)
		if len(found) == 0 {
			return
		}
		if tol > geom.FlattenTol {
			continue
		}
		of := func(segment int) int {
			k := 0
			for k+1 < len(firsts) && firsts[k+1] <= segment {
				k++
			}
			return k
		}
		a, b := of(found[0].I), of(found[0].J)
		at := geom.Mul(orb.Point{found[0].At[0], -found[0].At[1]}, 1/d.sc.eng.unitMM)
		text := fmt.Sprintf("%q runs through %q at %s, so that the outline of %q crosses itself", d.edges[b].name, d.edges[a].name, spot(at), d.name)
		if a == b {
			text = fmt.Sprintf("%q runs through itself at %s", d.edges[a].name, spot(at))
		}
		p.fail(starts[b], text, "move the points of one of the two, or look at the measures from which they come")
	}
}

// orient turns the edges so that each begins where the one before ends.
func (d *drawing) orient(p *parser, starts []int) {
	tol := d.sc.eng.hair()
	n := len(d.edges)
	if n < 2 {
		p.fail(0, "an outline has at least two edges", "name all edges in order round the piece")
	}
	first, second := &d.edges[0], d.edges[1]
	touches := func(q orb.Point, c curve) bool {
		return geom.Dist(q, c.start()) <= tol || geom.Dist(q, c.end()) <= tol
	}
	if !touches(first.c.end(), second.c) || n == 2 && geom.Dist(first.c.end(), second.c.end()) <= tol {
		first.c = first.c.reversed()
	}
	for i := 1; i <= n; i++ {
		prev, cur := d.edges[i-1], &d.edges[i%n]
		at := prev.c.end()
		switch {
		case geom.Dist(at, cur.c.start()) <= tol:
		case i < n && geom.Dist(at, cur.c.end()) <= tol:
			cur.c = cur.c.reversed()
		default:
			gap := math.Min(geom.Dist(at, cur.c.start()), geom.Dist(at, cur.c.end()))
			p.fail(starts[i%n], fmt.Sprintf("%q does not begin where %q ends: they lie %s apart, at %s and %s",
				cur.name, prev.name, num(gap), spot(at), spot(cur.c.start())), "let both end at one and the same point, or name the edge that lies between them")
		}
	}
}

// angleAt is the inner angle of the piece, in degrees, between an edge and the next.
func angleAt(edges []outlineEdge, i int, ccw float64) float64 {
	n := len(edges)
	a, b := edges[i].c, edges[(i+1)%n].c
	in, out := a[len(a)-1].dir(1), b[0].dir(0)
	turn := math.Atan2(geom.Cross(in, out), geom.Dot(in, out)) * 180 / math.Pi
	return 180 - turn*ccw
}
