package measured

import (
	"tracewheel/pipeline/check"
	"tracewheel/pipeline/draft/measured/figures"
	"tracewheel/pipeline/draft/measured/sewn"
	"tracewheel/pipeline/pattern"
)

// seamFindings are those of the draft, and what the rules over seams and notches say of it in a workroom
// that lets 1 mm pass.
func seamFindings(e *sewn.Sewing) []pattern.Finding {
	out := append([]pattern.Finding(nil), e.Findings...)
	p := figures.Pattern(e)
	p.Findings = nil
	for _, f := range check.Run(p, check.Limits{SeamTolerance: 1}, nil) {
		switch f.Rule {
		case pattern.RuleSeamLengths, pattern.RuleCornerNotTrue, pattern.RuleNotchNoPartner, pattern.RuleNotchDeep:
			out = append(out, f)
		}
	}
	return out
}
