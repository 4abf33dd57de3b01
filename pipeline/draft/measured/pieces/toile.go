package pieces

import (
	"math"
	"regexp"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/pleats"
	"tracewheel/pipeline/draft/measured/tree"
)

// toileAllowance is the allowance of a toile, mm, wide enough to let out at the fitting: common practice.
const toileAllowance = 25.0

// OfToile tells whether a piece belongs to the toile of its garment: a main piece, of the main cloth; no facing, no
// strip, and none that is named as one.
func (pc *Piece) OfToile() bool {
	last := pc.Name[strings.LastIndexByte(pc.Name, ' ')+1:]
	return (pc.Material == "" || pc.Material == "main") && !slices.Contains(pc.names, "inner edge") && !slices.Contains(pc.names, "long edge") &&
		!slices.Contains([]string{"facing", "interfacing", "binding", "pocket"}, last)
}

// ReadToile makes the toile of the pieces, where it is wanted, once they are made as the draft says.
func (e *Garment) ReadToile() {
	if e.Toile {
		e.steps = append(e.steps, e.toileAllowances, e.toileLines, e.someOfToile)
	}
}

// someOfToile refuses a toile of nothing.
func (e *Garment) someOfToile() {
	if !slices.ContainsFunc(e.Pieces, (*Piece).OfToile) {
		e.AddFault(e.Sections["pieces"].KeyNode, "a toile has the main pieces of the main cloth alone, and this draft has none", "leave the toile out: the pieces as they are can be cut of any cloth")
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

// levels are the lines of the body that a toile shows, each where the draft lays a point by the measure that leads there from
// above. The waist lies at W or Wc too (common practice).
var levels = []struct {
	name   string
	points []string
	laid   *regexp.Regexp
}{
	{"bust line", nil, regexp.MustCompile(`\bdown apex depth(,|$)`)},
	{"waist line", []string{"W", "Wc"}, regexp.MustCompile(`\bdown ([a-z ]* )?waist( level)?(,|$)`)},
	{"hip line", nil, regexp.MustCompile(`\bdown hip depth(,|$)`)},
}

// toileLines draws the levels of the body across the pieces, and the centre where it is no fold.
func (e *Garment) toileLines() {
	for _, pc := range e.Pieces {
		if pc.from == nil || !pc.made {
			continue
		}
		for _, l := range levels {
			for _, n := range pc.Scope.Order {
				d := pc.Scope.Definitions[n]
				if d.Kind != tree.PointKind || d.Sentence == nil || !slices.Contains(l.points, n) && !l.laid.MatchString(strings.TrimSpace(string(d.Sentence.Text))) {
					continue
				}
				if q, ok := d.Placed(pc.Parser); ok && pc.levelLine(l.name, pc.Flat(q)[1]) {
					break
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
