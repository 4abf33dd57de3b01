package pattern

import "slices"

// WithoutAllowance is a pattern whose cut lines are its sew lines; without are the pieces that have no whole one.
func WithoutAllowance(p *Pattern) (net *Pattern, without []string) {
	q := *p
	q.Pieces = slices.Clone(p.Pieces)
	for i := range q.Pieces {
		piece := &q.Pieces[i]
		if len(piece.Sew) != 1 || !piece.Sew[0].Closed {
			if p.Format != "measured" { // such a draft says what is cut net as it is, a binding say
				without = append(without, piece.Name)
			}
			continue
		}
		none := 0.0
		piece.Cut, piece.CutSaid, piece.Included, piece.Allowance = nil, true, false, &none
		piece.Edges = slices.Clone(piece.Edges)
		for k := range piece.Edges {
			piece.Edges[k].Allowance = nil
		}
	}
	return &q, without
}
