package sheets

import (
	"fmt"
	"slices"
	"strings"

	"tracewheel/pipeline/pattern"
)

// Told describes the sheets of a job whose ticket asks for so many copies; once is true where each piece is drawn once
// whatever the ticket asks for.
func (b *Book) Told(copies int, once bool) []string {
	told := []string{pattern.Count(b.Sheets, "sheet") + " of pattern and a first sheet"}
	if taped := b.taped(); taped != "" {
		told = append(told, taped)
	}
	if once && copies > 1 {
		told = append(told, fmt.Sprintf("the ticket wants %d copies and the pattern is printed once, each piece saying how often it is cut: "+
			"print the PDF again for another pattern, or write patterns: every-copy at the device in the workroom file", copies))
	}
	return told
}

// Divided is a piece that does not fit on one sheet, and the sheets that show it.
type Divided struct {
	Name string
	On   []string
}

// taped names the pieces that are divided, "" where none is.
func (b *Book) taped() string {
	var out []string
	for _, d := range b.Divided {
		out = append(out, fmt.Sprintf("%s (%s)", d.Name, d.on()))
	}
	if len(out) == 0 {
		return ""
	}
	words := "taped together from several sheets: " + strings.Join(out, ", ")
	if b.whole {
		words += "; every other piece lies whole on one"
	}
	return words
}

// on names the sheets of a divided piece, or says how many they are where the list would be too long to read.
func (d Divided) on() string {
	if len(d.On) > 8 {
		return fmt.Sprintf("%d sheets from %s to %s", len(d.On), d.On[0], d.On[len(d.On)-1])
	}
	return strings.Join(d.On, " ")
}

// dividedAs is the divided piece of a name, nil for none.
func (b *Book) dividedAs(name string) *Divided {
	if i := slices.IndexFunc(b.Divided, func(d Divided) bool { return d.Name == name }); i >= 0 {
		return &b.Divided[i]
	}
	return nil
}
