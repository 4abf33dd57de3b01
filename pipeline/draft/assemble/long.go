package assemble

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"tracewheel/pipeline/pattern"
)

// mostLetters is how long a name or a line of a text may be, mostLines how many lines a text: what is
// longer fits on no piece, and writing it out takes minutes.
const mostLetters, mostLines = 200, 40

// Short cuts what is longer than mostLetters.
func Short(s string) string {
	n := 0
	for i := range s {
		if n++; n > mostLetters {
			return s[:i]
		}
	}
	return s
}

// short cuts each line of a name or text, and takes down the first that was too long.
func (j *job) short(s string, line int) string {
	if len(s) <= mostLetters {
		return s
	}
	lines := strings.Split(s, "\n")
	for i, whole := range lines {
		if i == mostLines {
			j.cutOff(line, len(lines), "lines", mostLines)
			lines = lines[:i]
			break
		}
		if lines[i] = Short(whole); lines[i] != whole {
			j.cutOff(line, utf8.RuneCountInString(whole), "letters", mostLetters)
		}
	}
	return strings.Join(lines, "\n")
}

// cutOff takes down what was cut, the first time.
func (j *job) cutOff(line, has int, of string, most int) {
	if j.long != nil {
		return
	}
	f := pattern.NewFinding(pattern.RuleLeftOut, fmt.Sprintf("a name or text has %d %s; only the first %d are used", has, of, most), "write it shorter")
	f.Severity, f.Line = pattern.Warning, line
	j.long = &f
}

// shorten cuts what a group says of its piece.
func (j *job) shorten(g Group) Group {
	for _, s := range []*string{&g.Name, &g.Size, &g.Material, &g.Note} {
		*s = j.short(*s, 0)
	}
	return g
}
