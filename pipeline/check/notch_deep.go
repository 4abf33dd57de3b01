package check

import (
	"fmt"
	"math"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// chordRoom is what the chords of a coarse curve may take from an allowance.
const chordRoom = 0.1

// notchDeep finds notches cut too near to the sew line. Less than 2 mm left to it is refused, since
// the cloth frays into the seam; more than half the allowance is warned of (common practice; both
// figures are the workroom's to change). A V is cut away to a point and does not run on like a slit,
// so half as much must be left behind it. A notch without a depth gets one that fits. Where no sew line and no
// allowance is known, twice the workroom's depth is warned of.
func notchDeep(s *subject) []pattern.Finding {
	var out []pattern.Finding
	for _, n := range s.notches() {
		if most := 2 * s.lim.notchDepth(); n.cuts() && n.Depth > most && s.p.Cut != nil && len(s.p.Sew) == 0 && n.allowance <= 0 {
			f := s.at(pattern.RuleNotchDeep, n.At,
				fmt.Sprintf("%s is %s deep, and no sew line shows whether it cuts into the seam", s.called(n), s.say.length(n.Depth)),
				fmt.Sprintf("make it %s deep at most, mark it with the pen, or draw the sew line", s.say.length(most)))
			f.Severity = pattern.Warning
			out = append(out, f)
		}
		if !n.cuts() || n.Depth <= 0 || n.allowance <= geom.CloseTol || s.outsideNear(n) {
			continue
		}
		left := n.allowance - n.Depth
		least, share := s.lim.notchLeft(), s.lim.notchShare()
		if n.Kind == pattern.NotchV || n.Kind == pattern.NotchCheck {
			least /= 2
		}
		mend := fmt.Sprintf("make it %s deep, or mark it with the pen", s.say.length(safeDepth(n.allowance, least, share)))
		if n.allowance < 2*least {
			mend = "mark it with the pen: the allowance is too narrow for a cut notch"
		}
		switch {
		case left < -chordRoom:
			out = append(out, s.at(pattern.RuleNotchDeep, n.At,
				fmt.Sprintf("%s is %s deep and cuts %s past the sew line", s.called(n), s.say.length(n.Depth), s.say.length(-left)), mend))
		case left < least-chordRoom:
			out = append(out, s.at(pattern.RuleNotchDeep, n.At,
				fmt.Sprintf("%s is %s deep: only %s is left before the sew line (%s needed)", s.called(n),
					s.say.length(n.Depth), s.say.length(math.Max(0, left)), s.say.length(least)), mend))
		case n.Depth > share*n.allowance+chordRoom:
			f := s.at(pattern.RuleNotchDeep, n.At,
				fmt.Sprintf("%s is %s deep, more than %.0f%% of the %s allowance", s.called(n),
					s.say.length(n.Depth), 100*share, s.say.length(n.allowance)), mend)
			f.Severity = pattern.Warning
			out = append(out, f)
		}
	}
	return out
}

// safeDepth is the deepest notch that neither limit minds, to a tenth of a millimetre below.
func safeDepth(allowance, least, share float64) float64 {
	return math.Floor(10*math.Max(0, math.Min(allowance-least, share*allowance))) / 10
}

// outsideNear tells whether the sew line lies beyond the cut line at a notch, which is then no
// measure for it.
func (s *subject) outsideNear(n notch) bool {
	w := s.profile()
	if w == nil || n.OnSew {
		return false
	}
	_, sew := w.sew.Nearest(n.near.Point)
	return geom.Dot(geom.Sub(sew.Point, n.near.Point), n.inward) < 0
}
