package devices

import (
	"fmt"
	"strings"
)

// MaxLine is the longest line that a gcode controller is sent, in bytes without its end: small
// controllers hold 79 characters.
const MaxLine = 70

// BadLine says why a line of the workroom file must not reach a controller as it is, "" where it may.
func BadLine(l string) string {
	switch {
	case strings.TrimSpace(l) == "":
		return "it is empty; leave it out"
	case len(l) > MaxLine:
		return fmt.Sprintf("it is longer than %d characters", MaxLine)
	case strings.ContainsAny(l, "?!~%"):
		return "controllers act on ?, !, ~ and % at once, wherever they stand; leave them out"
	}
	for _, r := range l {
		if r < ' ' || r > '~' {
			return "only plain letters, digits and signs may be sent; a line holds no line end"
		}
	}
	return ""
}
