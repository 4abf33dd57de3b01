package check

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"tracewheel/geom"
	"tracewheel/geom/offset"
	"tracewheel/pipeline/pattern"
)

// starShape is an outline with corners of all angles, opening and closing.
func starShape(t *rapid.T) geom.Path {
	p := geom.Path{Closed: true}
	n := rapid.IntRange(4, 8).Draw(t, "corners")
	for k := range n {
		s, c := math.Sincos((float64(k) + rapid.Float64Range(-0.25, 0.25).Draw(t, "turn")) * 2 * math.Pi / float64(n))
		r := rapid.Float64Range(180, 420).Draw(t, "radius")
		p.Points = append(p.Points, orb.Point{r * c, r * s})
	}
	return p
}

// Cut lines built with any widths on any corners are as they should be, so nothing is said of them.
func TestBuiltAllowancesOfAnyShapeAreQuiet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sew := starShape(t)
		p := panel(func(p *pattern.Piece) { p.Sew = []geom.Path{sew} })
		var edges []offset.Edge
		for _, e := range p.EdgesOf(&p.Sew[0]) {
			w := rapid.Float64Range(6, 40).Draw(t, "width")
			kind := rapid.SampledFrom([]offset.CornerKind{offset.Mitred, offset.Squared, offset.Mirrored, offset.Stepped}).Draw(t, "corner")
			if kind == offset.Mirrored && math.Abs(insideAngles(&sew)(e.First)-90) > 20 {
				kind = offset.Mitred // a hem folded back at a sharp corner is narrow there, and may be said so
			}
			edges = append(edges, offset.Edge{First: e.First, From: w, To: w, Corner: kind})
		}
		rings, err := offset.Build(sew, edges, 3)
		if err != nil {
			t.Fatal(err)
		}
		p.Cut = &rings[0].Path
		for _, f := range Run(draftOf(p), Limits{}, nil) {
			switch f.Rule {
			case pattern.RuleAllowanceNarrow, pattern.RuleAllowanceWide, pattern.RuleAllowanceMissing, pattern.RuleSewLineOutside, pattern.RuleOutlineCrosses:
				t.Errorf("%s: %s", f.Rule, f.Message)
			}
		}
	})
}

// The same cut lines with one dip drawn into the middle of an edge: it is found, at its place, with
// its figures.
func TestADipIsAlwaysFound(t *testing.T) {
	// An edge with its cut line, and 16 mm of it to both sides of its middle.
	type long struct {
		sew, cut geom.Path
		w        float64
		u        orb.Point
		mid      orb.Point
		foot     orb.Point
		segment  int
		fits     bool
	}
	edges := rapid.Custom(func(t *rapid.T) long {
		sew := starShape(t)
		w := rapid.Float64Range(6, 30).Draw(t, "width")
		rings, err := offset.Build(sew, []offset.Edge{{From: w, To: w}}, 3)
		if err != nil {
			t.Fatal(err)
		}
		cut := rings[0].Path
		a, b := sew.Segment(rapid.IntRange(0, len(sew.Points)-1).Draw(t, "edge"))
		u := geom.Unit(geom.Sub(b, a))
		mid := geom.Lerp(a, b, 0.5)
		foot := geom.Sub(mid, geom.Mul(geom.Left(u), w)) // the shapes run counter-clockwise
		near := cut.Nearest(foot)
		p, q := cut.Segment(near.Segment)
		return long{sew, cut, w, u, mid, foot, near.Segment, near.Dist <= 1e-6 && geom.Dist(p, foot) >= 16 && geom.Dist(q, foot) >= 16}
	}).Filter(func(e long) bool { return e.fits })
	rapid.Check(t, func(t *rapid.T) {
		e := edges.Draw(t, "edge")
		sew, cut, w, u, mid, foot := e.sew, e.cut, e.w, e.u, e.mid, e.foot
		deep := rapid.Float64Range(1.5, 0.9*w).Draw(t, "dip")
		dipped := geom.Path{Closed: true, Points: append([]orb.Point(nil), cut.Points[:e.segment+1]...)}
		dipped.Points = append(dipped.Points, geom.Sub(foot, geom.Mul(u, 15)), geom.Add(foot, geom.Mul(geom.Left(u), deep)), geom.Add(foot, geom.Mul(u, 15)))
		dipped.Points = append(dipped.Points, cut.Points[e.segment+1:]...)
		piece := panel(func(p *pattern.Piece) { p.Sew, p.Cut = []geom.Path{sew}, &dipped })
		for _, f := range Run(draftOf(piece), Limits{}, nil) {
			if f.Rule == pattern.RuleAllowanceNarrow && f.Severity == pattern.Error && geom.Dist(*f.At, mid) < 2 {
				return
			}
		}
		t.Fatalf("a dip of %.2f from %.2f at %v is not found", deep, w, mid)
	})
}
