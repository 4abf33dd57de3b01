package sewn

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/pattern"
)

// cornerOf is the inner angle between an edge and its neighbour at one end, and the neighbour.
type cornerOf struct {
	Degrees float64
	Cross   curve.Edge
	at      orb.Point
}

// corners are the corners of the piece as worn at the edge's start and end.
func (r edgeTimes) corners() [2]cornerOf {
	n := len(r.Piece.Worn)
	prev, next := (r.Edge+n-1)%n, (r.Edge+1)%n
	turn := curve.Orientation(r.Piece.Worn)
	return [2]cornerOf{
		{curve.InnerAngle(r.Piece.Worn, prev, turn), r.Piece.Worn[prev], r.Piece.Worn[r.Edge].Curve.Start()},
		{curve.InnerAngle(r.Piece.Worn, r.Edge, turn), r.Piece.Worn[next], r.Piece.Worn[r.Edge].Curve.End()},
	}
}

// across names the edge that crosses the start, 0, or the end, 1, of an edge.
func (r edgeTimes) across(end int) pattern.EdgeRef {
	return pattern.EdgeRef{Piece: r.Piece.Name, Edge: r.corners()[end].Cross.Name}
}

// openFrom is the corner in degrees from which an edge at a seam's end runs on in the seam's own line, as the edges of a slit
// do: where both do, nothing crosses.
const openFrom = 170

// trueCornersOfLike is trueCorners for a piece that is sewn to another of its kind along one edge: each of its ends meets
// itself.
func (e *Sewing) trueCornersOfLike(s *sentence.Sentence, r edgeTimes, pointed []string) {
	for _, c := range r.corners() {
		if c.Cross.Fold || c.Degrees > openFrom || slices.Contains(pointed, c.Cross.Name) {
			continue
		}
		what := fmt.Sprintf("the %s where %s is sewn to another of its kind", c.Cross.Name, sideWords([]edgeTimes{r}))
		mend := fmt.Sprintf("let the edge leave the seam square (now %.1f degrees), or say pointed at and the edge if a point is meant, laid on where one lies on the other", c.Degrees)
		across := pattern.EdgeRef{Piece: r.Piece.Name, Edge: c.Cross.Name}
		e.later = append(e.later, func() {
			if !e.sewnTogether([2]pattern.EdgeRef{across, across}) {
				e.AddCorner(s, r.Piece, what, 2*c.Degrees, c.at, mend)
			}
		})
	}
}

// trueCorners adds the two corners at each end of a seam: the edge that crosses must run on without
// a point. Which corners meet is told by the names of the crossing edges, and by those that are sewn to one another at
// an end: a seam goes on there, so that the other ends meet.
func (e *Sewing) trueCorners(s *sentence.Sentence, a, b []edgeTimes, pointed []string, unlike bool) {
	if len(a) == 1 && len(b) == 1 && a[0].Piece == b[0].Piece && a[0].Edge == b[0].Edge {
		e.trueCornersOfLike(s, a[0], pointed)
		return
	}
	for _, ra := range a {
		for k, ca := range ra.corners() {
			if ca.Cross.Fold || inRow(a, ra, ca.Cross) || slices.Contains(pointed, ca.Cross.Name) {
				continue
			}
			for _, rb := range b {
				for m, cb := range rb.corners() {
					if ca.Degrees > openFrom && cb.Degrees > openFrom {
						continue
					}
					if ca.Cross.Kind() != cb.Cross.Kind() || cb.Cross.Fold || inRow(b, rb, cb.Cross) || slices.Contains(pointed, cb.Cross.Name) {
						continue
					}
					what := fmt.Sprintf("the %s where %s is sewn to %s", ca.Cross.Name, sideWords([]edgeTimes{ra}), sideWords([]edgeTimes{rb}))
					mend := fmt.Sprintf("let the edge leave the seam square on both pieces (now %.1f degrees on %s and %.1f on %s), or say pointed at and the edge if a point is meant", ca.Degrees, ra.Piece.Name, cb.Degrees, rb.Piece.Name)
					across := [2]pattern.EdgeRef{ra.across(k), rb.across(m)}
					others := [2][2]pattern.EdgeRef{{ra.across(k), rb.across(1 - m)}, {ra.across(1 - k), rb.across(m)}}
					e.later = append(e.later, func() {
						if !e.sewnTogether(across) && !e.sewnTogether(others[0]) && !e.sewnTogether(others[1]) && !e.setIn(across) {
							e.AddCorner(s, rb.Piece, what, ca.Degrees+cb.Degrees, cb.at, mend)
							if !unlike {
								e.unlikeAcross(s, ra, k, rb, m)
							}
						}
					})
				}
			}
		}
	}
}

// sewnTogether tells that the two edges which would cross a seam's end are one another's seam, which follows it there:
// nothing crosses.
func (e *Sewing) sewnTogether(across [2]pattern.EdgeRef) bool {
	in := func(side []pattern.EdgeRef, r pattern.EdgeRef) bool {
		return slices.ContainsFunc(side, func(o pattern.EdgeRef) bool { return o.Piece == r.Piece && o.Edge == r.Edge })
	}
	return slices.ContainsFunc(e.Seams, func(s pattern.Seam) bool {
		return in(s.A, across[0]) && in(s.B, across[1]) || in(s.A, across[1]) && in(s.B, across[0])
	})
}

// setIn tells that the two edges which would cross a seam's end are sewn to two edges of one piece that meet at a corner, as
// those of a gusset do: the corner is set in there, and nothing runs on.
func (e *Sewing) setIn(across [2]pattern.EdgeRef) bool {
	const straight = 10.0 // degrees
	for _, a := range e.partners(across[0]) {
		for _, b := range e.partners(across[1]) {
			if a.Piece != b.Piece || a.Edge == b.Edge {
				continue
			}
			i := slices.IndexFunc(e.Pieces, func(pc *pieces.Piece) bool { return pc.Name == a.Piece })
			worn := e.Pieces[i].Worn
			n, turn := len(worn), curve.Orientation(worn)
			for k := range worn {
				here, next := worn[k].Name, worn[(k+1)%n].Name
				if (here == a.Edge && next == b.Edge || here == b.Edge && next == a.Edge) && math.Abs(curve.InnerAngle(worn, k, turn)-180) > straight {
					return true
				}
			}
		}
	}
	return false
}

// partners are the edges to which an edge is sewn.
func (e *Sewing) partners(r pattern.EdgeRef) []pattern.EdgeRef {
	var out []pattern.EdgeRef
	for _, s := range e.Seams {
		for _, two := range [2][2][]pattern.EdgeRef{{s.A, s.B}, {s.B, s.A}} {
			if slices.ContainsFunc(two[0], func(o pattern.EdgeRef) bool { return o.Piece == r.Piece && o.Edge == r.Edge }) {
				out = append(out, two[1]...)
			}
		}
	}
	return out
}

// inRow tells that the edge beside one of a seam's edges is sewn in the same seam: nothing crosses it there.
func inRow(side []edgeTimes, r edgeTimes, cross curve.Edge) bool {
	return slices.ContainsFunc(side, func(o edgeTimes) bool {
		return o.Piece == r.Piece && o.Piece.Worn[o.Edge].Name == cross.Name
	})
}

// foldCorners looks at the ends of folds, where each corner meets its own mirror image, unless the piece says
// that a point is meant there.
func (e *Sewing) foldCorners() {
	for _, pc := range e.Pieces {
		e.Try(func() { e.foldCornersOf(pc) })
	}
}

func (e *Sewing) foldCornersOf(pc *pieces.Piece) {
	var met []string
	for i, ed := range pc.Worn {
		if !ed.Fold {
			continue
		}
		for _, c := range (edgeTimes{Piece: pc, Edge: i}).corners() {
			if met = append(met, c.Cross.Name); !slices.Contains(pc.Pointed, c.Cross.Name) {
				e.AddCorner(pc.Sentence, pc, fmt.Sprintf("the %s of %s at the fold", c.Cross.Name, pc.Name), 2*c.Degrees, c.at, "let the edge leave the fold square, or say pointed at and the edge in the piece's sentence if a point is meant")
			}
		}
	}
	for _, name := range pc.Pointed {
		if !slices.Contains(met, name) {
			pc.Parser.Refuse(0, sentence.Quote(name)+" of "+sentence.Quote(pc.Name)+" does not end at a fold", "between two pieces say pointed at in the seam's sentence")
		}
	}
}

// sewnOnFold refuses an edge that is on the fold: the cloth runs on there and has no edge to sew.
func (e *Sewing) sewnOnFold(p *tree.Parser, side []edgeTimes) bool {
	for _, r := range side {
		if ed := r.Piece.Worn[r.Edge]; ed.Fold {
			p.Refuse(0, fmt.Sprintf("the %s of %s is on the fold: the cloth runs on there, and there is no edge to sew", ed.Name, r.Piece.Name),
				"take the seam out; or, if it is a seam, take on the fold out of the outline and say cut 2, a pair")
			return true
		}
	}
	return false
}
