package pieces

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/darts"
	"tracewheel/pipeline/draft/measured/panels"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
)

// Width is how wide a drawing is at a point's level, pleats closed: "width of front at P"; sewn, without
// what its darts take there: "sewn width of front at P".
func (e *Garment) Width(p *tree.Parser, sewn bool) tree.Number {
	at := p.At
	name, ok := p.Name(e.DrawingOrder)
	if !ok {
		p.Fail(at, sentence.Quote(p.Phrase())+" is no drawing", e.Nearest(p.Word(), e.DrawingOrder))
	}
	d := e.Drawings[name]
	p.Want("at", " and the point at whose level it is measured")
	own, from := p.Scope, p.At
	if _, known := p.Named(tree.PointKind); !known {
		p.Scope = d.Scope // a point of that drawing
	}
	p.At = from
	point := p.Point()
	p.Scope = own
	called := p.Said(from)
	return func() float64 {
		level := point()[1]
		if !d.WorkOut(p, at) {
			return 0
		}
		if edge := armholeAt(d.Edges, level); edge != "" {
			e.CutArmholes = append(e.CutArmholes, fmt.Sprintf("the level of %s cuts the %s of %s", called, edge, name))
		}
		wide := levelWidth(d.Edges, level)
		if sewn && d.PrincessEntry.Sentence != nil {
			wide = 0
			ps := panels.Divide(d)
			if ps == nil {
				return 0
			}
			for _, pn := range ps {
				wide += levelWidth(pn.Drawing.Edges, level) - darts.TakenInsideAt(pn.Drawing, level)
			}
		} else if sewn {
			wide -= darts.TakenAt(d, level, p, at)
		}
		if wide <= 0 && !p.Scope.Context.Blocked() {
			p.Unfit(at, "the level of that point does not cross "+name, "")
		}
		return wide
	}
}

// levelWidth is how wide an outline is at a level, 0 where it does not reach it.
func levelWidth(edges []curve.Edge, y float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, ed := range edges {
		for _, pl := range ed.Curve.Meets(orb.Point{0, y}, orb.Point{1, 0}) {
			x := ed.Curve[pl.Index].At(pl.T)[0]
			lo, hi = math.Min(lo, x), math.Max(hi, x)
		}
	}
	return math.Max(0, hi-lo)
}

// armholeAt names the armhole that a level cuts between its ends, "" for none: a level above the underarm has no
// side seam, and its width goes round nobody.
func armholeAt(edges []curve.Edge, y float64) string {
	const inside = 0.01 // of the edge's height, so that a level through the underarm itself is none
	for _, ed := range edges {
		if !strings.Contains(ed.Name, "armhole") {
			continue
		}
		a, b := ed.Curve.Start()[1], ed.Curve.End()[1]
		if slack := inside * math.Abs(a-b); y > math.Min(a, b)+slack && y < math.Max(a, b)-slack {
			return ed.Name
		}
	}
	return ""
}
