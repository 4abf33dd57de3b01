package sewn

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/geom/offset"
	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/pleats"
)

// CutEdge is edge i as its allowance is built round it, widths in mm; its first vertex is not set. A finish belongs to the corner
// where the edge begins, or to the next edge's where it ends. False where nothing is told of the edge.
func CutEdge(pc *pieces.Piece, i int) (out offset.Edge, told bool) {
	switch {
	case pc.Included:
		return out, false
	case pc.Edges[i].Fold:
		return out, true
	case i >= len(pc.Widths) || pc.Widths[i] == nil:
		return out, false
	}
	w, unitMM := pc.Widths[i], pc.Scope.Context.UnitMM
	out.From, out.To = w.From*unitMM, w.To*unitMM
	before := (i + len(pc.Edges) - 1) % len(pc.Edges)
	switch {
	case w.Start != offset.Mitred:
		out.Corner, out.SewnFirst = w.Start, true
	case pc.Widths[before] != nil && !pc.Edges[before].Fold:
		out.Corner = pc.Widths[before].End
	}
	return out, true
}

// slitMitre is the limit of a corner in widths; the room of a slit does not depend on it.
const slitMitre = 3.0

// cutSlits takes each slit of a piece that begins or ends on the sew line, and not along it, through the allowance: it is cut
// from the cut line (common practice). The place on the sew line stays among those that are told.
func cutSlits(pc *pieces.Piece) {
	if !slices.ContainsFunc(pc.Marks, func(m pleats.InnerLine) bool { return m.Slit }) {
		return
	}
	line, firsts := pc.Scope.Context.Flatten(pc.Edges)
	edges := make([]offset.Edge, len(pc.Edges))
	for i := range edges {
		w, told := CutEdge(pc, i)
		if !told {
			return
		}
		edges[i], edges[i].First = w, firsts[i]
	}
	rings, err := offset.Build(line, edges, slitMitre)
	if err != nil {
		return // told where the piece is prepared
	}
	for k := range pc.Marks {
		m := &pc.Marks[k]
		if !m.Slit || len(m.Path) > 0 {
			continue
		}
		from, to := m.From, m.To
		if q, ok := through(pc, rings, to, from); ok {
			m.From, m.Told = q, append(m.Told, from)
		}
		if q, ok := through(pc, rings, from, to); ok {
			m.To, m.Told = q, append(m.Told, to)
		}
	}
}

// through is where a line from one place to another on the sew line meets the cut line when it runs on; false where it ends
// inside, or runs along an edge there.
func through(pc *pieces.Piece, rings []offset.Ring, from, to orb.Point) (q orb.Point, ok bool) {
	e := pc.Scope.Context
	on := false
	for _, ed := range pc.Edges {
		if ed.Fold || curve.NearestOn(ed.Curve, to) < 0 {
			continue
		}
		if curve.NearestOn(ed.Curve, geom.Lerp(to, from, 0.1)) >= 0 {
			return q, false // along the edge
		}
		on = true
	}
	a, b := e.ToMM(from), e.ToMM(to)
	u := geom.Unit(geom.Sub(b, a))
	least := math.Inf(1)
	for _, r := range rings {
		for i := range r.Path.Segments() {
			c, d := r.Path.Segment(i)
			ca, cd := geom.Cross(u, geom.Sub(c, b)), geom.Cross(u, geom.Sub(d, b))
			tc, td := geom.Dot(u, geom.Sub(c, b)), geom.Dot(u, geom.Sub(d, b))
			for _, t := range meets(ca, cd, tc, td) {
				if t > geom.CloseTol {
					least = math.Min(least, t)
				}
			}
		}
	}
	if !on || math.IsInf(least, 1) {
		return q, false
	}
	return geom.Add(to, geom.Mul(geom.Unit(geom.Sub(to, from)), least/e.UnitMM)), true
}

// meets are how far along a line a segment meets it whose ends lie so far beside it, and so far along.
func meets(besideA, besideB, alongA, alongB float64) []float64 {
	switch {
	case math.Abs(besideA) < geom.CloseTol && math.Abs(besideB) < geom.CloseTol:
		return []float64{alongA, alongB}
	case math.Abs(besideA) < geom.CloseTol:
		return []float64{alongA}
	case math.Abs(besideB) < geom.CloseTol:
		return []float64{alongB}
	case (besideA > 0) == (besideB > 0):
		return nil
	}
	return []float64{alongA + (alongB-alongA)*besideA/(besideA-besideB)}
}
