package sheets

import (
	"fmt"

	"tracewheel/pipeline/pattern"
)

// Told is what is said of the sheets of a job whose ticket wants so many copies; once is true where a piece is drawn
// once whatever it wants.
func (b *Book) Told(copies int, once bool) []string {
	told := []string{pattern.Count(b.Sheets, "sheet") + " of pattern and a first sheet"}
	if once && copies > 1 {
		told = append(told, fmt.Sprintf("the ticket wants %d copies and the pattern is printed once, each piece saying how often it is cut: "+
			"print the PDF again for another pattern, or write patterns: every-copy at the device in the workroom file", copies))
	}
	return told
}
