package devices

import (
	"fmt"
	"regexp"
	"strings"
)

// maxLine is the longest line that a gcode controller is sent, in bytes without its end: small
// controllers hold 79 characters.
const maxLine = 70

// spindle is a line that starts a spindle, M3 or M4 of RS274/NGC (NISTIR 6556), its
// blanks left out.
var spindle = regexp.MustCompile(`(?i)M0*[34]([^0-9]|$)`)

// BadLine says why a line of the workroom file, which stands under gantry.KEY there, must not reach the
// controller of such a device as it is, "" where it may. A pen beside the blade is often lifted by a
// servo on the spindle's line (M3 S90), so pen_up and pen_down may name it.
func BadLine(kind Kind, key, l string) string {
	switch {
	case strings.TrimSpace(l) == "":
		return "it is empty; leave it out"
	case len(l) > maxLine:
		return fmt.Sprintf("it is longer than %d characters", maxLine)
	case strings.ContainsAny(l, "?!~%"):
		return "controllers act on ?, !, ~ and % at once, wherever they stand; leave them out"
	case kind.Cuts() && (key == "header" || key == "footer") && spindle.MatchString(strings.ReplaceAll(l, " ", "")):
		return "M3 and M4 start a spindle, which would turn the knife; leave them out"
	}
	for _, r := range l {
		if r < ' ' || r > '~' {
			return "only plain letters, digits and signs may be sent; a line holds no line end"
		}
	}
	return ""
}
