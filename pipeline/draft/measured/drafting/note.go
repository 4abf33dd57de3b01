package drafting

import (
	"tracewheel/pipeline/pattern"
)

func (e *Draft) NoteAt(line, col int, rule string, sev pattern.Severity, text, mend string) {
	f := pattern.NewFinding(rule, text, mend)
	f.Severity, f.Line, f.Column = sev, line, col
	e.Findings = append(e.Findings, f)
}
