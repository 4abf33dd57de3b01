package pieces

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/darts"
	"tracewheel/pipeline/draft/measured/drafting"
	"tracewheel/pipeline/draft/measured/panels"
	"tracewheel/pipeline/draft/measured/sentence"
)

// Width is how wide a drawing is at a point's level, pleats closed: "width of front at P"; sewn, without
// what its darts take there: "sewn width of front at P".
func (e *Garment) Width(p *drafting.Parser, sewn bool) float64 {
	at := p.At
	name, ok := p.Name(p.Scope.Draft.DrawingOrder)
	if !ok {
		p.Fail(at, sentence.Quote(p.Phrase())+" is no drawing", sentence.Nearest(p.Word(), p.Scope.Draft.DrawingOrder))
	}
	p.Want("at", " and the point at whose level it is measured")
	own, from := p.Scope, p.At
	if _, known := p.Name(own.Names(drafting.PointKind)); !known {
		p.Scope = p.Scope.Draft.Drawings[name].Scope // a point of that drawing
	}
	p.At = from
	pt := p.Point()
	p.Scope = own
	p.Scope.Draft.OutlineOf(name, p, at)
	d := p.Scope.Draft.Drawings[name]
	wide := LevelWidth(d.Edges, pt[1])
	if sewn && d.PrincessEntry.Sentence != nil {
		wide = 0
		for _, pn := range panels.Divide(d) {
			wide += LevelWidth(pn.Drawing.Edges, pt[1]) - darts.TakenInsideAt(pn.Drawing, pt[1])
		}
	} else if sewn {
		wide -= darts.TakenAt(d, pt[1])
	}
	if wide <= 0 {
		p.Unfit(at, "the level of that point does not cross "+name, "")
	}
	return wide
}

// LevelWidth is how wide an outline is at a level, 0 where it does not reach it.
func LevelWidth(edges []curve.Edge, y float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, ed := range edges {
		for _, pl := range ed.Curve.Meets(orb.Point{0, y}, orb.Point{1, 0}) {
			x := ed.Curve[pl.Index].At(pl.T)[0]
			lo, hi = math.Min(lo, x), math.Max(hi, x)
		}
	}
	return math.Max(0, hi-lo)
}
