package tree

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/pattern"
)

// Where tells a place of the drawing by what is lettered and drawn so far: "U", "8 cm from U along the side", "3 cm out
// and 1 cm down from U".
func (s *Scope) Where(q orb.Point) string {
	var points []pattern.Label
	for _, n := range s.Order {
		if d := s.Definitions[n]; d.Kind == PointKind && d.state == worked {
			points = append(points, pattern.Label{At: s.Context.ToMM(d.Point), Text: n})
		}
	}
	if len(points) == 0 && s.up != nil {
		return s.up.Where(q)
	}
	if len(points) == 0 {
		return s.Context.Say(q[0]) + " out and " + s.Context.Say(q[1]) + " down from the start"
	}
	unit := s.Context.Unit
	words := pattern.Beside(s.Context.ToMM(q), points, unit)
	for _, l := range points {
		if l.Text == words {
			return words
		}
	}
	for _, n := range s.Order {
		d := s.Definitions[n]
		if d.Kind != EdgeKind || d.state != worked {
			continue
		}
		at := curve.NearestOn(d.Curve, q)
		if at < 0 {
			continue
		}
		least, name := math.Inf(1), ""
		for _, l := range s.Order {
			p := s.Definitions[l]
			if p.Kind != PointKind || p.state != worked {
				continue
			}
			if k := curve.NearestOn(d.Curve, p.Point); k >= 0 && math.Abs(k-at) < least {
				least, name = math.Abs(k-at), l
			}
		}
		if name != "" {
			return pattern.AlongEdge(least*s.Context.UnitMM, name, n, unit)
		}
	}
	return words
}

// Where tells a place of the drawing in which the sentence stands, see Scope.Where.
func (p *Parser) Where(q orb.Point) string { return p.Scope.Where(q) }
