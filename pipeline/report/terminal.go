package report

import (
	"fmt"
	"io"
	"strings"

	"tracewheel/pipeline/pattern"
)

// RuleList lists the checks for a command's help.
func RuleList() string {
	var b strings.Builder
	b.WriteString("The checks, with their usual weight (set another under `checks` in workroom.yaml):\n")
	for _, r := range pattern.Rules() {
		fmt.Fprintf(&b, "  %-28s %-8s %s\n", r.Name, r.Default, r.Text)
	}
	return strings.TrimRight(b.String(), "\n")
}

// Findings prints findings on a terminal, each with its place and what mends it. colour wraps words in an ANSI colour
// where there are any.
func Findings(w io.Writer, fs []pattern.Finding, colour func(code, words string) string) {
	colours := map[pattern.Severity]string{pattern.Error: "31", pattern.Warning: "33", pattern.Note: "36"}
	for _, f := range pattern.Group(fs) {
		where := f.Where()
		if f.Line > 0 {
			where = strings.TrimPrefix(fmt.Sprintf("%s, line %d%s", where, f.Line, column(f.Column)), ", ")
		}
		if where != "" {
			where += ": "
		}
		fmt.Fprintf(w, "  %s %s%s [%s]\n", colour(colours[f.Severity], f.Word()+":"),
			pattern.Printable(where), pattern.Printable(f.Message), strings.Join(f.Rules, ", "))
		if f.Mend != "" {
			fmt.Fprintf(w, "      -> %s\n", pattern.Printable(f.Mend))
		}
	}
}

func column(n int) string {
	if n < 1 {
		return ""
	}
	return fmt.Sprintf(", column %d", n)
}
