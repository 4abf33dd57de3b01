package drafting

import (
	"cmp"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/draft/measured/warp"
	"tracewheel/pipeline/pattern"
)

// alterSeam moves a seam, with both its sides. Of a name that several seams have, those are moved along which all its places lie.
func (e *Draft) alterSeam(a *alteration, seams [][2][]SeamEdge) {
	var order []*Drawing
	edges := map[*Drawing][]string{}
	made := "" // an edge of the seam that no sentence draws: a princess, an end of pleats, what faces a piece
	meant := func(x SeamEdge) bool {
		return x.Drawing != nil && (x.Edge == a.name || x.Drawing.Name+" "+x.Edge == a.name || x.Piece+" "+x.Edge == a.name)
	}
	var found [][]SeamEdge
	for _, s := range seams {
		if both := append(slices.Clone(s[0]), s[1]...); slices.ContainsFunc(both, meant) {
			both = slices.DeleteFunc(both, func(x SeamEdge) bool { return x.Drawing == nil || !x.Drawing.readable })
			found = append(found, both)
		}
	}
	var known []string
	inSeam := len(found) > 0
	for _, n := range e.DrawingOrder {
		for _, edge := range e.Drawings[n].EdgeNames() {
			if x := (SeamEdge{Drawing: e.Drawings[n], Edge: edge}); meant(x) && x.Drawing.readable && !inSeam {
				found = append(found, []SeamEdge{x})
			}
			known = append(known, edge, n+" "+edge)
		}
	}
	var lacks *altered // a place that a seam of this name has not
	for _, both := range found {
		if k := slices.IndexFunc(a.at, func(x altered) bool { return !hasPlace(both, x.where) }); k >= 0 {
			lacks = &a.at[k]
			continue
		}
		for _, x := range both {
			switch {
			case !slices.Contains(x.Drawing.EdgeNames(), x.Edge):
				made = x.Edge
			case !slices.Contains(edges[x.Drawing], x.Edge):
				if edges[x.Drawing] == nil {
					order = append(order, x.Drawing)
				}
				edges[x.Drawing] = append(edges[x.Drawing], x.Edge)
			}
		}
	}
	switch {
	case made != "":
		e.alterFinding(a, pattern.Warning, "is left out: "+sentence.Quote(made)+" is no edge that is drawn, so that a fitting cannot move it", "change the sentence of the draft that makes it")
		return
	case len(order) == 0 && lacks != nil:
		e.tellNoPlace(a, *lacks, found)
		return
	case len(order) == 0:
		e.tellNear(a, known)
		return
	}
	var names []string
	for _, d := range order {
		names = append(names, d.Name)
		d.alter(a, func(ring []curve.Edge, carry func(q orb.Point) orb.Point) ([]curve.Edge, func(q orb.Point) orb.Point, bool) {
			return a.shift(d, warp.SeamIn(ring, edges[d]), carry)
		})
	}
	e.carriedOut(a, "in "+strings.Join(names, " and "))
}

// hasPlace tells whether the drawings of a seam, or the one of an edge that is sewn to none, know a place.
func hasPlace(seam []SeamEdge, where string) bool {
	for _, x := range seam {
		if where != "" && !x.Drawing.placeKnown(where) {
			return false
		}
	}
	return true
}

// tellNoPlace tells of a fitting whose place no seam of its name has. Where the card says that it is for this draft, or the name is
// close to one that is here, it is a warning; else it may well be another garment's.
func (e *Draft) tellNoPlace(a *alteration, x altered, seams [][]SeamEdge) {
	var known []string
	along := ""
	for _, edge := range slices.Concat(seams...) {
		if !edge.Drawing.placeKnown(x.where) {
			known = append(append(known, edge.Drawing.EdgeNames()...), edge.Drawing.Scope.Order...)
			along = cmp.Or(along, "the "+edge.Edge+" of "+edge.Drawing.Name)
		}
	}
	e.tellLost(a, isClose(x.where, known), "no place along "+along+" is called "+sentence.Quote(x.where), sentence.Nearest(x.where, known))
}

// tellLost tells of a line that names a seam or a drawing of this draft and cannot be carried out on it: a warning where it must be
// meant for this draft, else a note.
func (e *Draft) tellLost(a *alteration, meant bool, text, mend string) {
	_, only := sentence.FittingDay(a.when)
	severity := pattern.Warning
	if only == "" && !meant {
		severity, mend = pattern.Note, "Right, if it is about another garment of this wearer. Else "+mend
	}
	e.alterFinding(a, severity, "is left out: "+text, mend)
}

// isClose tells whether a name is most likely one of the known ones, misspelt. Names of one or two letters are all alike.
func isClose(name string, known []string) bool {
	return len(name) > 2 && slices.ContainsFunc(known, func(n string) bool { return sentence.OneSlip(name, n) })
}

// placeKnown tells whether a place may be found by its name: a point, or an edge of the outline.
func (d *Drawing) placeKnown(where string) bool {
	if p := d.Scope.Definitions[where]; p != nil && p.Kind == tree.PointKind {
		return true
	}
	return d.edgeKnown(where)
}

// edgeKnown tells whether an edge of the outline has a name, or is of its kind.
func (d *Drawing) edgeKnown(where string) bool {
	return slices.ContainsFunc(d.EdgeNames(), func(n string) bool { return n == where || (curve.Edge{Name: n}).Kind() == where })
}

// shift moves a drawing's seam.
func (a *alteration) shift(d *Drawing, s warp.Seam, carry func(q orb.Point) orb.Point) ([]curve.Edge, func(q orb.Point) orb.Point, bool) {
	whole := s.Length(len(s.Edges))
	var knots []warp.Knot
	for _, x := range a.at {
		if x.where == "" {
			knots = append(knots, warp.Knot{By: x.by})
			continue
		}
		l := a.along(d, s, carry, x, whole)
		if l < 0 {
			a.parser.Refuse(x.rune, sentence.Quote(x.where)+" is no place along the "+a.name+" of "+d.Name, "name a point of it, or an edge that it meets")
			return nil, nil, false
		}
		knots = append(knots, warp.Knot{At: l, By: x.by})
	}
	slices.SortStableFunc(knots, func(p, q warp.Knot) int {
		if p.At < q.At {
			return -1
		}
		return 1
	})
	out, to, ok := s.Shifted(knots)
	if !ok {
		a.parser.Refuse(0, "the "+a.name+" of "+d.Name+" meets the edge beside it too flat, or that edge is too short, to be moved there so far", "say less, or let it come to nothing at that end")
	}
	return out, to, ok
}

// along is how far along a seam a place lies: a point of it, the end at which it meets an edge; -1 for none.
func (a *alteration) along(d *Drawing, s warp.Seam, carry func(q orb.Point) orb.Point, x altered, whole float64) float64 {
	if p := d.Scope.Definitions[x.where]; p != nil && p.Kind == tree.PointKind {
		if q, ok := p.Placed(a.parser); ok {
			return s.Place(carry(q))
		}
		return -1
	}
	n := len(s.Ring)
	is := func(i int) bool {
		ed := s.Ring[(i+n)%n]
		return ed.Name == x.where || ed.Kind() == x.where
	}
	switch {
	case is(s.Edges[0] - 1):
		return 0
	case is(s.Edges[len(s.Edges)-1] + 1):
		return whole
	}
	return -1
}
