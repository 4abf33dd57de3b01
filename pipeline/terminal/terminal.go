// Package terminal is what all that people and programs read goes through on its way to a terminal: names and texts of
// drafts, files and devices are shown there, and none of them is obeyed.
package terminal

import (
	"fmt"
	"io"
	"strings"
	"unicode"
	"unicode/utf16"

	"tracewheel/pipeline/pattern"
)

// Screen is for what people read.
type Screen struct{ To io.Writer }

func (s Screen) Write(p []byte) (int, error) {
	if _, err := io.WriteString(s.To, pattern.Readable(string(p))); err != nil {
		return 0, err
	}
	return len(p), nil
}

// Raw is what lies behind a Screen: for bytes of a device, and for lines with colours whose words are printable already.
func Raw(w io.Writer) io.Writer {
	if s, ok := w.(Screen); ok {
		return s.To
	}
	return w
}

// Escaped takes JSON. What a terminal may obey is written as JSON's escapes (RFC 8259, section 7), so that a program reads
// the same text.
type Escaped struct{ To io.Writer }

func (e Escaped) Write(p []byte) (int, error) {
	var b strings.Builder
	for _, r := range string(p) {
		if r == '\n' || unicode.Is(unicode.Zs, r) || pattern.Printable(string(r)) == string(r) {
			b.WriteRune(r)
			continue
		}
		for _, unit := range utf16.AppendRune(nil, r) {
			fmt.Fprintf(&b, `\u%04x`, unit)
		}
	}
	if _, err := io.WriteString(Raw(e.To), b.String()); err != nil {
		return 0, err
	}
	return len(p), nil
}
