package backup

import (
	"fmt"
	"strings"

	"tracewheel/pipeline/pattern"
)

// Said says what a copy holds.
func (c Copied) Said(file string) string {
	return fmt.Sprintf("%s holds a copy of it: %d jobs, %d files, %.1f MB", file, c.Jobs, c.Files, float64(c.Bytes)/1e6)
}

// Cautions say what is not whole in a copy or was left out, a line each.
func (c Copied) Cautions() string {
	var b strings.Builder
	for _, f := range c.Faults {
		fmt.Fprintf(&b, "caution: %s: bring it back from an older copy\n", pattern.Printable(f))
	}
	if c.Unlisted != nil {
		fmt.Fprintf(&b, "note: the store does not list this copy, so that `forget` cannot name it: %s\n", c.Unlisted)
	}
	for _, l := range c.Left {
		fmt.Fprintf(&b, "note: %s was left out: it is no plain file, or its name cannot stand in a copy\n", pattern.Printable(l))
	}
	return b.String()
}

// Said says what was brought back, and what a person must do next.
func (r Restored) Said(dir string) string {
	text := fmt.Sprintf("%s holds the copy of %s: %d jobs\n", dir, r.Taken.Local().Format("2006-01-02 15:04"), r.Jobs)
	if n := len(r.Stopped); n > 0 {
		text += fmt.Sprintf("%d of them had not ended and are stopped now: see what was made of each, then resume or cancel it\n", n)
	}
	if r.Stock > 0 {
		text += fmt.Sprintf("%s of the stock may be shorter by now: measure each, then: tracewheel stock correct\n", pattern.Count(r.Stock, "part"))
	}
	return text
}
