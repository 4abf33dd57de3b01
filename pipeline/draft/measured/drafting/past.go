package drafting

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// pastLeast, in mm, and pastShare of its length are how far a curve may run past both its ends unsaid: what an eye takes for
// a straight run (common practice).
const pastLeast, pastShare = 1.0, 0.015

// noteCurvesPast warns of curves that run past both their ends where nobody can want it: at the fold, where the opened piece
// has a hump, and at a neck. An armhole, which is hollowed behind its tip, is let be, and so is what is pulled by hand.
func (d *Drawing) noteCurvesPast() {
	e := d.Scope.Context
	n := len(d.Edges)
	for i, ed := range d.Edges {
		said := d.named[i].Sentence
		for k, s := range ed.Curve {
			if !s.EvenArms() {
				continue // pulled by hand
			}
			meet, ok := s.WaysMeet()
			neck := ed.Kind() == "neck" || ed.Kind() == "neckline"
			atFold := [2]bool{k == 0 && d.Edges[(i+n-1)%n].Fold, k == len(ed.Curve)-1 && d.Edges[(i+1)%n].Fold}
			for end, here := range atFold {
				by, beyond := s.Past(end == 1)
				told := slices.ContainsFunc(e.Findings, func(f pattern.Finding) bool { return f.Rule == pattern.RuleCurvePast && f.Line == said.Line })
				if !(here || neck) || told || by*e.UnitMM < math.Max(pastLeast, pastShare*s.Length()*e.UnitMM) {
					continue
				}
				mend := "let it leave or arrive less steeply, or break it: end it at a point between, and add then curve"
				if ok {
					mend = fmt.Sprintf("tell two points, one %s, the other %s, and say pulled toward the two in place of leaving and arriving; or let it arrive less steeply",
						d.Scope.Where(geom.Lerp(s.From, meet, quarterArm)), d.Scope.Where(geom.Lerp(s.To, meet, quarterArm)))
				}
				e.Note(said, pattern.RuleCurvePast, pattern.Warning,
					fmt.Sprintf("the curve %q of %q runs %s %s both its ends: it is told to leave and to arrive too steeply for ends that lie so", ed.Name, d.Name, pattern.Length(by*e.UnitMM, e.Unit), sideOf(beyond)), mend)
			}
		}
	}
}

// quarterArm is how far along each way, of the whole to where they meet, lies the handle of a quarter of an ellipse.
const quarterArm = 0.55

// sideOf says to which side a direction leads.
func sideOf(v orb.Point) string {
	switch {
	case v[1] > math.Abs(v[0]):
		return "below"
	case -v[1] > math.Abs(v[0]):
		return "above"
	case v[0] > 0:
		return "out beyond"
	}
	return "back beyond"
}
