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
		a, b, p := pc.opened(t.LegA), pc.opened(t.LegB), pc.opened(t.Apex)
		if !t.Stitched {
			mid := geom.Lerp(t.LegA, t.LegB, 0.5)
			in := geom.Lerp(t.Apex, mid, 13/e.UnitMM/geom.Dist(t.Apex, mid)) // half an inch short of the point, so that the hole is sewn in: common practice
			pc.Marks = append(pc.Marks, pleats.InnerLine{From: a, To: p, Name: "dart leg"}, pleats.InnerLine{From: b, To: p, Name: "dart leg"})
			pc.Drills = append(pc.Drills, pc.opened(in))
		}
		pc.nick(a, t.Edge)
		pc.nick(b, t.Edge)
		deg := curve.AngleBetween(geom.Mul(t.In, -1), geom.Sub(t.Apex, t.LegA)) + curve.AngleBetween(t.Out, geom.Sub(t.Apex, t.LegB))
		if t.Beyond() {
			deg = 360 - deg
		}
		mend := "say trued in the dart's sentence, and the edge is bent to run on across it"
		if t.Stitched {
			mend = "take pointed out of the princess sentence, and the edge is bent to run on across the fold"
		}
		n := len(pc.Edges)
		name := pc.Edges[t.Edge].Name
		if own := pc.Form.Edges[t.Edge].Curve; own.Start() == t.LegA && own.End() == t.LegB { // its own cap
			name = pc.Edges[(t.Edge+1)%n].Name
		}
		e.AddCorner(t.Sentence, pc, "the "+name+" at the "+t.Name+" of "+pc.Name, deg, t.LegB, mend)
	}
	pc.markInside()
	pc.markFolds()
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

// markFolds draws the stitching lines of what is folded and not cut. Of a curved one the places are told through which
// it is chalked: those between which it was drafted, and more where a tape would not show its curve.
func (pc *Piece) markFolds() {
	e := pc.Scope.Context
	for _, f := range pc.Form.Folds {
		for _, leg := range f.Legs {
			l := pleats.InnerLine{From: pc.opened(leg.Start()), To: pc.opened(leg.End()), Name: "dart leg"}
			for i, g := range leg {
				if i > 0 {
					l.Told = append(l.Told, pc.opened(g.From))
				}
				if !g.Cubic {
					continue
				}
				n := math.Ceil(g.Length() * e.UnitMM / toldEvery)
				for k := 1.0; k < n; k++ {
					l.Told = append(l.Told, pc.opened(g.At(g.AtLength(g.Length()*k/n))))
				}
			}
			if len(l.Told) > 0 {
				l.Path = []orb.Point{leg.Start()}
				for _, g := range leg {
					l.Path = g.Flatten(l.Path, geom.FlattenTol/e.UnitMM)
				}
				for k, q := range l.Path {
					l.Path[k] = pc.opened(q)
				}
			}
			pc.Marks = append(pc.Marks, l)
		}
		for _, q := range f.Holes {
			pc.Drills = append(pc.Drills, pc.opened(q))
		}
	}
}

// toldEvery is how far apart, in mm, the places of a curved stitching line are told at most: common practice, as of an edge.
const toldEvery = 50.0

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
