package check

import (
	"fmt"
	"math"

	"tracewheel/pipeline/pattern"
)

// seamLengths walks the two edges of each seam on their sew lines and compares. 2 mm in all are
// let pass where the draft says nothing else (common practice); ease that the draft states is taken
// off first.
func seamLengths(d *draft) []pattern.Finding {
	joints, unknown := d.joints()
	var out []pattern.Finding
	for _, ref := range unknown {
		out = append(out, pattern.NewFinding(pattern.RuleSeamLengths,
			fmt.Sprintf("a seam names the edge %q of piece %q, which the draft does not have", ref.Edge, ref.Piece),
			"correct the name of the piece or of the edge"))
	}
	for _, j := range joints {
		tolerance := j.seam.Tolerance
		if tolerance <= 0 {
			tolerance = d.lim.seamTolerance()
		}
		lack := j.b.length - j.a.length - j.seam.Ease
		if math.Abs(lack) <= tolerance {
			continue
		}
		a, b := seamWords(j)
		long, short := b, a
		if lack < 0 {
			long, short = a, b
		}
		message := fmt.Sprintf("%s (%s) is sewn to %s (%s)", a, d.say.length(j.a.length), b, d.say.length(j.b.length))
		if j.seam.Ease != 0 {
			message += fmt.Sprintf(" with %s of ease", d.say.length(j.seam.Ease))
		}
		message += fmt.Sprintf(": %s is %s longer than %s can take, and %s are let pass", long, d.say.length(math.Abs(lack)), short, d.say.length(tolerance))
		from, _ := j.b.ends()
		f := j.b.s.at(pattern.RuleSeamLengths, from, message, "true the two edges to one length, or state the ease that is meant")
		f.Edge = j.seam.B[0].Edge
		f.Stretch = j.b.path()
		out = append(out, f)
	}
	return out
}
