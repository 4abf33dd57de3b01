package sheets

import "tracewheel/devices/paper"

// Paper is what the sheets are printed on.
type Paper = paper.Paper

// ParsePaper reads what a person calls a paper.
func ParsePaper(text string, margin float64) (Paper, error) { return paper.Parse(text, margin) }

// PaperNames lists the sizes that have a name.
func PaperNames() string { return paper.Names() }
