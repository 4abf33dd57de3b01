package pieces

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/pleats"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// roughBlock makes a straight block for those who pleat the cloth first and cut after: "rough block of
// front, 5 to spare". It holds the opened piece with so much to spare on every side but the fold, and
// bears the pleats' lines from end to end. The closed shape to lay on it is "front, as worn".
func (e *Garment) roughBlock(pc *Piece) {
	p := pc.Parser
	p.Space()
	at := p.At
	n, ok := p.Name(e.DrawingOrder)
	if !ok {
		p.Fail(at, sentence.Quote(p.Phrase())+" is no drawing of this draft", e.Nearest(p.Word(), e.DrawingOrder))
	}
	d := e.Drawings[n]
	d.Wanted = true
	if d.Outline == nil {
		p.Fail(at, "the drawing "+sentence.Quote(n)+" has no outline, so it makes no block", "add outline: and its edges in order")
	}
	p.Sign(',')
	spare := p.SumWhere(tree.AtLeast0, "%s to spare", "say 0 or more")
	p.Want("to spare", " and how much of cloth is left round the shape")
	if len(d.PleatEntries) == 0 {
		p.Fail(at, "the drawing "+sentence.Quote(n)+" has no pleats, so a rough block of it bears no lines", "cut the piece itself, or say its pleats")
	}
	pc.names, pc.Included = []string{"top", "side", "bottom", "centre"}, true
	pc.shape = func() {
		if o := pleats.OpenedOf(d); o != nil {
			pc.setBlock(d, o, spare(), at)
		}
	}
}

// setBlock makes the block round an opened drawing.
func (pc *Piece) setBlock(d *drafting.Drawing, o *pleats.Opened, spare float64, at int) {
	e, p := pc.Scope.Context, pc.Parser
	box := orb.Bound{Min: o.Edges[0].Curve.Start(), Max: o.Edges[0].Curve.Start()}
	for _, ed := range o.Edges {
		for _, s := range ed.Curve {
			for _, q := range s.Flatten(nil, 0.01/e.UnitMM) {
				box = box.Extend(q)
			}
		}
	}
	inner := box.Min[0]
	box = box.Pad(spare)
	folded := false
	for _, ed := range o.Edges {
		if !ed.Fold {
			continue
		}
		if math.Abs(ed.Curve.Start()[0]-ed.Curve.End()[0]) > e.Hair() || math.Abs(ed.Curve.Start()[0]-inner) > e.Hair() {
			p.Refuse(at, fmt.Sprintf("the fold of %q does not run plumb along its inner side", d.Name), "draw the fold plumb")
			return
		}
		folded = true
		box.Min[0] = inner
	}
	pc.setRectangle(box, folded)
	for _, l := range o.Lines {
		if l.Ends {
			pc.blockLine(l, box)
		}
	}
}

// blockLine draws a pleat's line across the whole block, with a nick at either end.
func (pc *Piece) blockLine(l pleats.InnerLine, box orb.Bound) {
	u := geom.Unit(geom.Sub(l.To, l.From))
	lo, hi := math.Inf(-1), math.Inf(1)
	var edges [2]int
	for axis := range 2 {
		if math.Abs(u[axis]) < 1e-12 {
			continue
		}
		t0, t1 := (box.Min[axis]-l.From[axis])/u[axis], (box.Max[axis]-l.From[axis])/u[axis]
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
	a, b := geom.Add(l.From, geom.Mul(u, lo)), geom.Add(l.From, geom.Mul(u, hi))
	pc.Marks = append(pc.Marks, pleats.InnerLine{From: a, To: b, Name: l.Name})
	for k, q := range [2]orb.Point{a, b} {
		pc.nick(q, edges[k])
	}
}
