package sewn

import (
	"slices"
	"strings"

	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
)

// edgeTimes is an edge in a seam, taken once or more often.
type edgeTimes struct {
	Piece *pieces.Piece
	Edge  int
	Times float64
	Slit  *pieces.Slit // one side of a slit, which is no edge; else nil
	// Free is how much of the edge at its start and at its end is a band's underlap, sewn to nothing.
	Free [2]float64
}

// sewn is how long the edge is between what of it is sewn to nothing.
func (r edgeTimes) sewn() float64 {
	return r.Piece.Worn[r.Edge].Curve.Length() - r.Free[0] - r.Free[1]
}

// underlaps is how much of a side are underlaps of bands, which are sewn to nothing.
func underlaps(side []edgeTimes) float64 {
	sum := 0.0
	for _, r := range side {
		sum += r.Times * (r.Free[0] + r.Free[1])
	}
	return sum
}

// refs names a side's edges for the pattern.
func refs(side []edgeTimes) []pattern.EdgeRef {
	var out []pattern.EdgeRef
	for _, r := range side {
		out = append(out, pattern.EdgeRef{Piece: r.Piece.Name, Edge: r.Piece.Edges[r.Edge].Name, Times: r.Times})
	}
	return out
}

func sideLength(side []edgeTimes) float64 {
	var sum float64
	for _, r := range side {
		sum += r.Times * r.long()
	}
	return sum
}

func sideWords(side []edgeTimes) string {
	var out []string
	for _, r := range side {
		w := r.Piece.Name + " " + r.name()
		switch {
		case r.Times == 2:
			w = "twice " + w
		case r.Times > 2:
			w = sentence.FormatNumber(r.Times) + " times " + w
		}
		out = append(out, w)
	}
	return strings.Join(out, " + ")
}

// name is what the edge, or the slit, is called on its piece.
func (r edgeTimes) name() string {
	if r.Slit != nil {
		return r.Slit.Name
	}
	return r.Piece.Worn[r.Edge].Name
}

func (r edgeTimes) long() float64 {
	if r.Slit != nil {
		return r.Slit.Long
	}
	return r.Piece.WornLength(r.Edge)
}

func hasSlit(side []edgeTimes) bool {
	return slices.ContainsFunc(side, func(r edgeTimes) bool { return r.Slit != nil })
}
