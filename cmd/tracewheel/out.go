package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"unicode"
	"unicode/utf16"

	"tracewheel/pipeline/pattern"
	"tracewheel/pipeline/store"
)

// writeOut writes a file that a person asked for, whole or not at all. What is there and is no plain
// file - a pipe, a port, /dev/stdout - is written to and never replaced.
func writeOut(path string, data []byte) error {
	if st, err := os.Stat(path); err == nil && !st.Mode().IsRegular() {
		if st.IsDir() {
			return refused(errors.New(path + " is a folder; name a file in it"))
		}
		if err := os.WriteFile(path, data, 0); err != nil {
			return refused(err)
		}
		return nil
	}
	if _, err := store.SaveFile(store.Disk{}, path, bytes.NewReader(data), 0o644); err != nil {
		return refused(store.WithAdvice(err))
	}
	return nil
}

// wrote writes such a file and says what is in it.
func (a *app) wrote(path string, data []byte, what string) error {
	err := writeOut(path, data)
	if err == nil {
		fmt.Fprintf(a.err, "%s: %s, %d bytes\n", path, what, len(data))
	}
	return err
}

// screen is where all that people read goes: names and texts of drafts, files and devices reach a terminal through it alone,
// so that none of them is obeyed there.
type screen struct{ w io.Writer }

func (s screen) Write(p []byte) (int, error) {
	if _, err := io.WriteString(s.w, pattern.Readable(string(p))); err != nil {
		return 0, err
	}
	return len(p), nil
}

// raw is what lies behind a screen: for bytes of a device, and for lines with colours whose words are printable already.
func raw(w io.Writer) io.Writer {
	if s, ok := w.(screen); ok {
		return s.w
	}
	return w
}

// escaped takes JSON. What a terminal may obey is written as JSON's escapes (RFC 8259, section 7), so that a program reads
// the same text.
type escaped struct{ w io.Writer }

func (e escaped) Write(p []byte) (int, error) {
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
	if _, err := io.WriteString(raw(e.w), b.String()); err != nil {
		return 0, err
	}
	return len(p), nil
}
