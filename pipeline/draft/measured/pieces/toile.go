package pieces

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/pleats"
	"tracewheel/pipeline/draft/measured/tree"
)

// toileAllowance is the allowance of a toile, mm, wide enough to let out at the fitting: common practice.
const toileAllowance = 25.0

// OfToile tells whether a piece belongs to the toile of its garment: a main piece, of the main cloth; no facing, no
// strip.
func (pc *Piece) OfToile() bool {
	return (pc.Material == "" || pc.Material == "main") && !slices.Contains(pc.names, "inner edge") && !slices.Contains(pc.names, "long edge")
}

// ReadToile makes the toile of the pieces, where it is wanted, once they are made as the draft says.
func (e *Garment) ReadToile() {
	if e.Toile {
		e.steps = append(e.steps, e.toileAllowances, e.toileLines)
	}
}

// toileAllowances gives every edge the allowance of a toile, whatever the draft says.
func (e *Garment) toileAllowances() {
	for _, pc := range e.Pieces {
		pc.Included, pc.Widths = false, nil
		for range pc.Edges {
			pc.Widths = append(pc.Widths, &edgeWidth{From: toileAllowance / e.UnitMM, To: toileAllowance / e.UnitMM})
		}
	}
}

// levels are the lines of the body that a toile shows, each by the points that usually lie on it
// (common practice; a drawing without them bears none).
var levels = []struct {
	name   string
	points []string
}{{"bust line", []string{"X", "B"}}, {"waist line", []string{"W", "Wc"}}, {"hip line", []string{"H"}}}

// toileLines draws the levels of the body across the pieces, and the centre where it is no fold.
func (e *Garment) toileLines() {
	for _, pc := range e.Pieces {
		if pc.from == nil || !pc.made {
			continue
		}
		for _, l := range levels {
			for _, n := range l.points {
				if d := pc.Scope.Definitions[n]; d != nil && d.Kind == tree.PointKind {
					if q, ok := d.Placed(pc.Parser); ok && pc.levelLine(l.name, pc.Flat(q)[1]) {
						break
					}
				}
			}
		}
		for _, ed := range pc.Edges {
			if ed.Kind() == "centre" && !ed.Fold {
				pc.Marks = append(pc.Marks, pleats.InnerLine{From: ed.Curve.Start(), To: ed.Curve.End(), Name: "centre line"})
			}
		}
	}
}

// levelLine draws a level line across the piece as cut; false where it does not cross it.
func (pc *Piece) levelLine(name string, y float64) bool {
	least, most := math.Inf(1), math.Inf(-1)
	for _, ed := range pc.Edges {
		for _, at := range ed.Curve.Meets(orb.Point{0, y}, orb.Point{1, 0}) {
			x := ed.Curve[at.Index].At(at.T)[0]
			least, most = math.Min(least, x), math.Max(most, x)
		}
	}
	if most-least < pc.Scope.Context.Hair() {
		return false
	}
	pc.Marks = append(pc.Marks, pleats.InnerLine{From: orb.Point{least, y}, To: orb.Point{most, y}, Name: name})
	return true
}
