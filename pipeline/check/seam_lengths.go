package check

import (
	"fmt"
	"math"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// seamLengths walks the two sides of each seam as worn and compares. 2 mm in all are let pass where the
// draft says nothing else (common practice); ease that the draft states is taken off first.
func seamLengths(d *draft) []pattern.Finding {
	joints, unknown := d.joints()
	var out []pattern.Finding
	for _, ref := range unknown {
		out = append(out, pattern.NewFinding(pattern.RuleSeamLengths,
			fmt.Sprintf("a seam names the edge %q of piece %q, which the draft does not have", ref.Edge, ref.Piece),
			"correct the name of the piece or of the edge"))
	}
	for _, s := range d.pieces {
		out = append(out, s.unevenDarts()...)
	}
	for _, j := range joints {
		tolerance := j.seam.Tolerance
		if tolerance <= 0 {
			tolerance = d.lim.seamTolerance()
		}
		la, lb := j.a.length(), j.b.length()
		lack := j.seam.Off(la, lb, tolerance)
		if lack == 0 {
			continue
		}
		a, b := seamWords(j)
		long, short := b, a
		if lack < 0 {
			long, short = a, b
		}
		message := fmt.Sprintf("%s (%s) is sewn to %s (%s)", a, d.say.length(la), b, d.say.length(lb))
		if j.seam.Ease != 0 {
			way := "longer"
			if j.seam.Ease < 0 {
				way = "shorter"
			}
			message += fmt.Sprintf(", and %s is to be %s %s than %s", b, d.say.length(math.Abs(j.seam.Ease)), way, a)
			if said := j.seam.Ease - j.seam.Underlap; j.seam.Underlap > 0 && math.Abs(said) > 0.05 {
				message += fmt.Sprintf(", %s as it says and %s for its underlap", d.say.length(said), d.say.length(j.seam.Underlap))
			}
		}
		message += fmt.Sprintf(": %s is %s longer than %s can take, and %s are let pass", long, d.say.length(math.Abs(lack)), short, d.say.length(tolerance))
		r := j.b[0]
		from, _ := r.ends()
		f := j.withPlace(r.s.at(pattern.RuleSeamLengths, from, message, j.mendLengths(d, la, lb, tolerance)))
		f.Edge = j.seam.B[0].Edge
		f.Stretch = r.path()
		out = append(out, f)
	}
	return out
}

// easeMost is the share of a seam past which a difference is no ease: woven cloth takes in 5 to 10 per
// cent at a sleeve's cap, elsewhere less (common practice).
const easeMost = 0.2

// mendLengths says what makes a seam's sides fit.
func (j joined) mendLengths(d *draft, la, lb, fine float64) string {
	by := lb - la
	gather := ""
	if la > 1.1*lb {
		gather = "; or say gathered"
	}
	if half, ok := j.halfForgotten(la, lb, fine); ok {
		return "one side is half as long as the other: if both halves are sewn to it, say twice " + half
	}
	switch lap := j.seam.Underlap; {
	case lap > 0 && math.Abs(by-lap) <= fine:
		return "the underlap counts by itself: take the words " + d.say.length(math.Abs(j.seam.Ease-lap)) + " longer out of the seam"
	case math.Abs(by) <= fine:
		return "the two are of one length: draw the ease into one of them, or take it out of the seam"
	case math.Abs(by) > easeMost*max(la, lb): // nobody means that
		return "look at the shape of the two edges, and at the measures behind them" + gather
	}
	by -= j.seam.Underlap
	a, b := seamWords(j)
	way := "longer"
	if by < 0 {
		way = "shorter"
	}
	if (j.seam.Ease-j.seam.Underlap)*by < 0 { // longer and shorter speak of the second side
		return fmt.Sprintf("look which side is to be longer: the words behind the comma speak of the second side, %s, which is %s %s than %s", b, d.say.length(math.Abs(by)), way, a) + gather
	}
	return "true the two edges to one length, or state the ease that is meant: " + d.say.length(math.Abs(by)) + " " + way + ", said of " + b + gather
}

// halfForgotten is the side of a seam that is half as long as the other and told once, where it is one edge of a piece on the
// fold, or of one that is cut more often than once.
func (j joined) halfForgotten(la, lb, fine float64) (words string, ok bool) {
	half := func(w side, refs []pattern.EdgeRef, short, long float64) bool {
		return len(refs) == 1 && w[0].times == 1 && (w[0].s.p.FoldLine() != nil || w[0].s.p.Quantity > 1) && math.Abs(2*short-long) <= fine
	}
	switch {
	case half(j.a, j.seam.A, la, lb-j.seam.Ease):
		return refWords(j.seam.A), true
	case half(j.b, j.seam.B, lb-j.seam.Ease, la):
		return refWords(j.seam.B), true
	}
	return "", false
}

// unevenDarts compares the two legs of each dart, which are sewn together.
func (s *subject) unevenDarts() []pattern.Finding {
	var out []pattern.Finding
	for _, t := range s.p.Darts {
		a, b := geom.Dist(t.A, t.Apex), geom.Dist(t.B, t.Apex)
		if math.Abs(a-b) <= s.lim.seamTolerance() {
			continue
		}
		f := s.at(pattern.RuleSeamLengths, t.A, fmt.Sprintf("the legs of the %s of %s are %s and %s: %s apart", t.Name, s.p.Name,
			s.say.length(a), s.say.length(b), s.say.length(math.Abs(a-b))), "make both one length")
		f.Line, f.Column = t.Line, t.Column
		out = append(out, f)
	}
	return out
}
