package darts

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sentence"
)

// Dart is one as it lies flat on the cut piece: its mouth lies between two points of the outline.
type Dart struct {
	Name             string
	Sentence         *sentence.Sentence
	LegA, Apex, LegB orb.Point // the legs' ends at the edge, in the order of the outline, and the dart's point
	In, Out          orb.Point // how the edge runs into the mouth and goes on behind it
	Edge             int       // the edge in which the mouth lies
	Stitched         bool      // it is the mouth of a Fold, which draws its own legs
	turn             float64   // how the outline runs
}

// fullness is a stretch of a cut edge, from a to b, that is gathered or eased until it is as long as worn.
type fullness struct {
	Edge     int
	From, To orb.Point
}

// capOf closes a dart's mouth as the scissors do that cut through the folded dart: the edge on the
// side to which it is folded, mirrored in that leg up to the dart's middle, then back in the middle.
func (m Dart) capOf(t *drawnDart, before, after curve.Curve) curve.Curve {
	mid := geom.Lerp(m.LegA, m.LegB, 0.5)
	fold := t.folded
	if v := geom.Sub(mid, m.Apex); fold == "" {
		fold = "back" // toward the centre; a bust dart from the side is folded down: common practice
		if math.Abs(v[0]) > math.Abs(v[1]) {
			fold = "down"
		}
	}
	way := map[string]orb.Point{"out": {1, 0}, "back": {-1, 0}, "up": {0, -1}, "down": {0, 1}}[fold]
	first := geom.Dot(geom.Sub(m.LegA, m.LegB), way) > 0
	leg, side := m.LegA, before.Reversed()
	if !first {
		leg, side = m.LegB, after
	}
	last := side[len(side)-1]
	side = append(append(curve.Curve{}, side...), curve.LineSeg(last.To, geom.Add(last.To, geom.Mul(last.Dir(1), 2*geom.Dist(m.LegA, m.LegB)))))
	half := side.Apply(geom.MirrorLine(leg, m.Apex))
	ps := half.Meets(m.Apex, geom.Unit(geom.Sub(mid, m.Apex)))
	if len(ps) == 0 {
		t.parser.Refuse(0, "no cap closes the mouth of the dart at "+t.parser.Where(mid)+": the edge runs along the dart", "move the dart, or fold it to the other side")
		return nil
	}
	half = half.Between(curve.Place{Index: 0, T: 0}, ps[0])
	whole := append(half, half.Apply(geom.MirrorLine(m.Apex, mid)).Reversed()...)
	if !first {
		return whole.Reversed()
	}
	return whole
}
