package measured

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
)

// roughBlock makes a straight block for those who pleat the cloth first and cut after: "rough block of
// front, 5 to spare". It holds the opened piece with so much to spare on every side but the fold, and
// bears the pleats' lines from end to end. The closed shape to lay on it is "front, as worn".
func (e *garment) roughBlock(pc *piece, p *parser) {
	p.space()
	at := p.i
	n, ok := p.name(e.drawOrder)
	if !ok {
		p.fail(at, quote(p.phrase())+" is no drawing of this draft", nearest(p.word(), e.drawOrder))
	}
	d := e.draws[n]
	if d.state != 2 {
		p.fail(at, "the drawing "+quote(n)+" has no outline, so it makes no block", "add outline: and its edges in order")
	}
	p.sign(',')
	spareAt := p.i
	spare := p.sum()
	p.want("to spare", " and how much of cloth is left round the shape")
	if spare < 0 {
		p.fail(spareAt, num(spare)+" to spare", "say 0 or more")
	}
	o := d.open()
	if o == nil {
		p.fail(at, "the drawing "+quote(n)+" has no pleats, so a rough block of it bears no lines", "cut the piece itself, or say its pleats")
	}
	box := orb.Bound{Min: o.edges[0].c.start(), Max: o.edges[0].c.start()}
	for _, ed := range o.edges {
		for _, s := range ed.c {
			for _, q := range s.flatten(nil, 0.01/e.unitMM) {
				box = box.Extend(q)
			}
		}
	}
	inner := box.Min[0]
	box = box.Pad(spare)
	folded := false
	for _, ed := range o.edges {
		if !ed.fold {
			continue
		}
		if math.Abs(ed.c.start()[0]-ed.c.end()[0]) > e.hair() || math.Abs(ed.c.start()[0]-inner) > e.hair() {
			p.fail(at, fmt.Sprintf("the fold of %q does not run plumb along its inner side", n), "draw the fold plumb")
		}
		folded = true
		box.Min[0] = inner
	}
	lo, hi := box.Min, box.Max
	c := [4]orb.Point{lo, {hi[0], lo[1]}, hi, {lo[0], hi[1]}}
	line, col := p.s.lines[0], p.s.cols[0]
	for i, name := range [4]string{"top", "side", "bottom", "centre"} {
		pc.edges = append(pc.edges, outlineEdge{name: name, c: curve{lineSeg(c[i], c[(i+1)%4])}, fold: folded && i == 3, line: line, col: col})
	}
	pc.worn, pc.included = pc.edges, true
	for _, l := range o.lines {
		if l.ends {
			pc.blockLine(l, box)
		}
	}
}

// blockLine draws a pleat's line across the whole block, with a nick at either end.
func (pc *piece) blockLine(l innerLine, box orb.Bound) {
	u := geom.Unit(geom.Sub(l.b, l.a))
	lo, hi := math.Inf(-1), math.Inf(1)
	var edges [2]int
	for axis := range 2 {
		if math.Abs(u[axis]) < 1e-12 {
			continue
		}
		t0, t1 := (box.Min[axis]-l.a[axis])/u[axis], (box.Max[axis]-l.a[axis])/u[axis]
		e0, e1 := 3-3*axis, 1+axis // centre and side, or top and bottom
		if t0 > t1 {
			t0, t1, e0, e1 = t1, t0, e1, e0
		}
		if t0 > lo {
			lo, edges[0] = t0, e0
		}
		if t1 < hi {
			hi, edges[1] = t1, e1
		}
	}
	a, b := geom.Add(l.a, geom.Mul(u, lo)), geom.Add(l.a, geom.Mul(u, hi))
	pc.marks = append(pc.marks, innerLine{a: a, b: b, name: l.name})
	for k, q := range [2]orb.Point{a, b} {
		pc.notches = append(pc.notches, notchAt{at: q, edge: edges[k], kind: notchKinds["nick"], worn: -1})
	}
}
