package check

import "tracewheel/pipeline/pattern"

// allowanceUnstated finds a lone outline that does not say whether it is the cut or the sew line.
// That is no fault; the job waits until a person says it.
func allowanceUnstated(s *subject) []pattern.Finding {
	if s.p.Cut == nil || s.p.CutSaid || len(s.p.Sew) > 0 ||
		s.lim.AllowanceIncluded || s.lim.Allowance != nil {
		return nil
	}
	f := s.finding(pattern.RuleAllowanceUnsaid,
		"the draft does not say whether this outline includes the seam allowance",
		"if it is the line to cut, write allowance: included in the ticket, or release the job with --allowance included; if it is the sew line, give a width instead, such as 10mm")
	f.At, f.Hold = s.middle(), true
	return one(f)
}
