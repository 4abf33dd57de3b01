package assemble

import (
	"fmt"
	"slices"
	"strings"

	"tracewheel/pipeline/pattern"
)

// Unused counts what of a file is not used, things of one kind together.
type Unused []unused

type unused struct {
	kind, why, mend, where string
	count, line, column    int
	severity               pattern.Severity
}

// Add counts a thing; of the first of a kind it asks where it stands. Where its role decides what is cut, it is counted
// apart and as a warning.
func (l *Unused) Add(role pattern.Role, kind, why, mend string, first func() (where string, line, column int)) {
	severity := pattern.Note
	if role.Shapes() {
		kind, severity = kind+" with the role "+string(role), pattern.Warning
	}
	i := slices.IndexFunc(*l, func(one unused) bool { return one.kind == kind })
	if i < 0 {
		where, line, column := first()
		*l, i = append(*l, unused{kind, why, mend, where, 0, line, column, severity}), len(*l)
	}
	(*l)[i].count++
}

// Findings tells of each kind, behind its count the words of the format.
func (l Unused) Findings(counted string) []pattern.Finding {
	slices.SortStableFunc(l, func(a, b unused) int { return strings.Compare(a.kind, b.kind) })
	var out []pattern.Finding
	for _, one := range l {
		f := pattern.NewFinding(pattern.RuleLeftOut, fmt.Sprintf("%s: %d%s, %s (the first is %s)", one.kind, one.count, counted, one.why, one.where), one.mend)
		f.Severity, f.Line, f.Column = one.severity, one.line, one.column
		out = append(out, f)
	}
	return out
}
