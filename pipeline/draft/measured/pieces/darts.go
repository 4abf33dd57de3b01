package pieces

import (
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/panels"
	"tracewheel/pipeline/draft/measured/pleats"
	"tracewheel/pipeline/pattern"
)

// MakeDarts marks each dart on its piece, and where fullness begins and ends, and proves that the edge
// runs on true when a dart is closed.
func (e *Garment) MakeDarts(pc *Piece) {
	if pc.Form == nil {
		return
	}
	for _, t := range pc.Form.Darts {
		mid := geom.Lerp(t.LegA, t.LegB, 0.5)
		in := geom.Lerp(t.Apex, mid, 13/e.UnitMM/geom.Dist(t.Apex, mid)) // half an inch short of the point, so that the hole is sewn in: common practice
		a, b, p := pc.opened(t.LegA), pc.opened(t.LegB), pc.opened(t.Apex)
		pc.Marks = append(pc.Marks, pleats.InnerLine{From: a, To: p, Name: "dart leg"}, pleats.InnerLine{From: b, To: p, Name: "dart leg"})
		pc.Drills = append(pc.Drills, pc.opened(in))
		pc.nick(a, t.Edge)
		pc.nick(b, t.Edge)
		deg := curve.AngleBetween(geom.Mul(t.In, -1), geom.Sub(t.Apex, t.LegA)) + curve.AngleBetween(t.Out, geom.Sub(t.Apex, t.LegB))
		n := len(pc.Edges)
		name := pc.Edges[t.Edge].Name
		if own := pc.Form.Edges[t.Edge].Curve; own.Start() == t.LegA && own.End() == t.LegB { // its own cap
			name = pc.Edges[(t.Edge+1)%n].Name
		}
		e.AddCorner(t.Sentence, pc, "the "+name+" at the "+t.Name+" of "+pc.Name, deg, t.LegB, "say trued in the dart's sentence, and the edge is bent to run on across it")
	}
	pc.markInside()
	for _, c := range pc.Form.Points {
		e.AddCorner(c.Sentence, pc, c.What+" "+pc.Name, c.Degrees, c.At, "say trued in the dart's sentence, and the edges are bent to run on")
	}
	for _, f := range pc.Form.Full {
		pc.nick(pc.opened(f.From), f.Edge)
		pc.nick(pc.opened(f.To), f.Edge)
	}
}

// markInside draws the darts that lie inside the piece; holes stand half an inch inside the points and
// an eighth inside the widest places, so that they are sewn in (common practice).
func (pc *Piece) markInside() {
	e := pc.Scope.Context
	for _, t := range pc.Form.Inside {
		t = t.Apply(pc.opened)
		mid := geom.Lerp(t.Wide[0], t.Wide[1], 0.5)
		toward := func(q orb.Point, mm float64) orb.Point {
			return geom.Lerp(q, mid, math.Min(0.5, mm/e.UnitMM/geom.Dist(q, mid)))
		}
		for k := range 2 {
			for _, end := range t.Ends {
				pc.Marks = append(pc.Marks, pleats.InnerLine{From: t.Wide[k], To: end, Name: "dart leg"})
			}
			pc.Drills = append(pc.Drills, toward(t.Ends[k], 13), toward(t.Wide[k], 3))
		}
	}
}

// setPanelNotches sets one above the bust point and two below it, in a back two above and one below (single in
// front, double behind: common practice), measured from the seam's ends, so that they meet on both panels,
// neither can be sewn upside down, and no front panel to a back one.
func setPanelNotches(pn panels.Panel, pc *Piece) {
	c := pc.Worn[pn.Seam].Curve
	gap := 8 / pc.Scope.Context.UnitMM // as of any double notch
	set := func(l float64, top bool) {
		if l <= 0 {
			return
		}
		if top == (c.Start()[1] > c.End()[1]) {
			l = c.Length() - l
		}
		pc.Notches = append(pc.Notches, Notch{At: pc.Place(pn.Seam, l), Edge: pn.Seam, kind: pattern.NotchNick, Worn: l})
	}
	set(pn.Up, true)
	set(pn.Down, false)
	if slices.Contains(strings.Fields(pn.Drawing.Name), "back") {
		set(pn.Up-gap, true)
	} else {
		set(pn.Down-gap, false)
	}
}
