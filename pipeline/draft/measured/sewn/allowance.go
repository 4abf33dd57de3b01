package sewn

import (
	"fmt"
	"math"
	"slices"

	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
)

// likeAllowance is by how many mm two allowances may differ, which nobody sees at the edge of cloth (from memory).
const likeAllowance = 0.5

// allowed is the allowance of an edge, in the draft's unit, where it begins and where it ends; told is false of an edge that is
// bound or cut as it is drawn, beside which nothing is laid edge to edge.
func (r edgeTimes) allowed() (from, to float64, told bool) {
	if r.Piece.Included || r.Edge >= len(r.Piece.Widths) || r.Piece.Widths[r.Edge] == nil || r.Piece.Edges[r.Edge].Fold {
		return 0, 0, false
	}
	w := r.Piece.Widths[r.Edge]
	return w.From, w.To, w.From > 0 && w.To > 0
}

// unlikeAllowances tells of a seam whose sides have different allowances. The sides are pinned with their cut edges even
// (common practice), so that the sew lines then lie apart.
func (e *Sewing) unlikeAllowances(s *sentence.Sentence, a, b []edgeTimes) {
	widths := func(side []edgeTimes) (out []float64, told bool) {
		for _, r := range side {
			from, to, ok := r.allowed()
			if !ok {
				return nil, false
			}
			out = append(out, from, to)
		}
		slices.Sort(out)
		return slices.CompactFunc(out, e.sameAllowance), true
	}
	wa, okA := widths(a)
	wb, okB := widths(b)
	if !okA || !okB || slices.EqualFunc(wa, wb, e.sameAllowance) {
		return
	}
	e.tellUnlike(s, b[0], fmt.Sprintf("%s is cut with an allowance of %s, and %s, to which it is sewn, with %s", sideWords(a), e.widthWords(wa), sideWords(b), e.widthWords(wb)))
}

// unlikeAcross tells of two edges that run on across the end of a seam, as two hems do, with different allowances there. What
// is sewn is looked at by its own seam.
func (e *Sewing) unlikeAcross(s *sentence.Sentence, ra edgeTimes, k int, rb edgeTimes, m int) {
	a, b := ra.beside(k), rb.beside(m)
	wa, okA := a.allowedAt(1 - k)
	wb, okB := b.allowedAt(1 - m)
	if !okA || !okB || e.sameAllowance(wa, wb) || len(e.partners(ra.across(k))) > 0 || len(e.partners(rb.across(m))) > 0 {
		return
	}
	e.tellUnlike(s, b, fmt.Sprintf("%s has an allowance of %s and %s one of %s where they meet, at the end of the seam, and are turned in one",
		sideWords([]edgeTimes{a}), e.WithUnit(wa), sideWords([]edgeTimes{b}), e.WithUnit(wb)))
}

// beside is the edge that crosses the start, 0, or the end, 1, of an edge.
func (r edgeTimes) beside(end int) edgeTimes {
	n := len(r.Piece.Worn)
	return edgeTimes{Piece: r.Piece, Edge: (r.Edge + n - 1 + 2*end) % n, Times: 1}
}

func (r edgeTimes) allowedAt(end int) (float64, bool) {
	from, to, told := r.allowed()
	if end == 0 {
		return from, told
	}
	return to, told
}

func (e *Sewing) sameAllowance(a, b float64) bool { return math.Abs(a-b)*e.UnitMM <= likeAllowance }

func (e *Sewing) widthWords(w []float64) string {
	if len(w) == 1 {
		return e.WithUnit(w[0])
	}
	return e.Say(w[0]) + " to " + e.WithUnit(w[len(w)-1])
}

// tellUnlike notes it of the edge on the second side, once.
func (e *Sewing) tellUnlike(s *sentence.Sentence, r edgeTimes, text string) {
	if slices.ContainsFunc(e.Findings, func(f pattern.Finding) bool { return f.Rule == pattern.RuleAllowancesUnlike && f.Message == text }) {
		return
	}
	pc := r.Piece
	f := e.Note(s, pattern.RuleAllowancesUnlike, pattern.Warning, text, "give both one allowance under allow; or say allowances differ behind the seam, where it is meant")
	at := e.ToMM(pc.Place(r.Edge, pc.Worn[r.Edge].Curve.Length()/2))
	f.Piece, f.Index, f.Edge, f.At = pc.Name, e.IndexOf(pc), pc.Edges[r.Edge].Name, &at
}
