package pattern

import (
	"strings"
	"testing"
	"unicode/utf8"
)

// TestShort: a name of a line in a list keeps its beginning and its ending, and plays with no terminal.
func TestShort(t *testing.T) {
	for name, want := range map[string]string{
		"skirt.svg":             "skirt.svg",
		strings.Repeat("ü", 40): strings.Repeat("ü", 40),
		"ferry-hand" + strings.Repeat("-long", 40) + "-front.dxf": "ferry-hand-long-long-long-…ong-front.dxf",
		"a\x1b[2Jb": "a\uFFFD[2Jb",
	} {
		if got := Short(name); got != want || utf8.RuneCountInString(got) > 40 {
			t.Errorf("%q is %q, not %q", name, got, want)
		}
	}
}
