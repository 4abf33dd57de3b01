package mend

import (
	"cmp"
	"regexp"
	"slices"
	"strings"

	"tracewheel/pipeline/tape"
)

// headLine is a line of a draft with its name or wearer.
var headLine = regexp.MustCompile(`^(?:style|note|unit|wearer|kind|card|body|sizes|from)\s*:`)

// MeasuresIn are the measures that a draft without bodies uses: names of measures in its text. A name that the draft
// itself defines counts only where it is used in a calculation.
func MeasuresIn(text string) map[string]string {
	names := tape.Names()
	slices.SortFunc(names, func(a, b string) int { return cmp.Or(len(b)-len(a), strings.Compare(a, b)) }) // hip depth before hip
	stands, told, reckoned := map[string]string{}, map[string]bool{}, map[string]bool{}
	for line := range strings.Lines(text) {
		line = WithoutComment(line)
		if headLine.MatchString(line) {
			continue
		}
		for _, name := range names {
			told[name] = told[name] || KeyWith(name).MatchString(line)
			for _, at := range slices.Backward(WholeWord(name).FindAllStringIndex(line, -1)) {
				before, behind := strings.TrimRight(line[:at[0]+1], " "), strings.TrimLeft(line[at[1]-1:], " ")
				reckoned[name] = reckoned[name] || strings.ContainsAny(before[max(0, len(before)-1):], "+-*/(") || strings.ContainsAny(behind[:min(1, len(behind))], "+-*/)")
				stands[name] = ""
				line = line[:at[0]] + strings.Repeat(" ", at[1]-at[0]) + line[at[1]:]
			}
		}
	}
	for name := range stands {
		if told[name] && !reckoned[name] {
			delete(stands, name)
		}
	}
	return stands
}
