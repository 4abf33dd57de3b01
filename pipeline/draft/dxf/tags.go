package dxf

import (
	"bytes"
	"fmt"
	"strconv"

	"tracewheel/pipeline/draft/assemble"
)

// tag is one pair of group code and value. at is its line in a text file, its byte in a binary one;
// from and to bound the raw value in the file's bytes.
type tag struct {
	code     int16
	at       int32
	from, to int32
}

// source is the file's bytes with the means to read values from them.
type source struct {
	data   []byte
	binary bool
	narrow bool // binary with codes of one byte, before R13
}

// errorAt makes an error at the place of a tag.
func (s *source) errorAt(kind assemble.Kind, at int32, format string, args ...any) *assemble.Unreadable {
	text := fmt.Sprintf(format, args...)
	if s.binary {
		return &assemble.Unreadable{Kind: kind, Text: fmt.Sprintf("byte %d: %s", at, text)}
	}
	return &assemble.Unreadable{Kind: kind, Line: int(at), Text: text}
}

// place names a tag's place for messages.
func (s *source) place(at int32) string {
	if s.binary {
		return fmt.Sprintf("byte %d", at)
	}
	return fmt.Sprintf("line %d", at)
}

// line is the tag's line for findings, 0 in a binary file.
func (s *source) line(at int32) int {
	if s.binary {
		return 0
	}
	return int(at)
}

// scanner walks over the tags.
type scanner struct {
	*source
	pos   int
	at    int32 // line of the next code
	count int
	limit int
}

// maxCode is the largest group code of the reference.
const maxCode = 1071

// Signature begins a binary file.
const Signature = "AutoCAD Binary DXF\r\n\x1a\x00"

// open refuses by name what is certainly no DXF, and makes a scanner of the rest.
func open(data []byte, limits Limits) (*scanner, error) {
	fail := func(kind assemble.Kind, format string, args ...any) (*scanner, error) {
		return nil, &assemble.Unreadable{Kind: kind, Text: fmt.Sprintf(format, args...)}
	}
	if len(data) > limits.Bytes {
		return fail(assemble.TooLarge, "the file has %d bytes; more than %d are not read", len(data), limits.Bytes)
	}
	s := &scanner{source: &source{data: data}, at: 1, limit: limits.Tags}
	if bytes.HasPrefix(data, []byte(Signature)) {
		s.binary, s.pos = true, len(Signature)
		s.narrow = len(data) > s.pos+1 && data[s.pos+1] != 0
		return s, nil
	}
	switch {
	case len(bytes.TrimSpace(data)) == 0:
		return fail(assemble.Malformed, "the file is empty")
	case bytes.HasPrefix(data, []byte("AC10")):
		return fail(assemble.Unsupported, "the file is a drawing in its program's own form, not DXF; save it as DXF")
	case bytes.HasPrefix(data, []byte{0xff, 0xfe}), bytes.HasPrefix(data, []byte{0xfe, 0xff}):
		return fail(assemble.Unsupported, "the file is written in UTF-16; save it as plain DXF")
	case bytes.HasPrefix(data, []byte("PK")), bytes.HasPrefix(data, []byte{0x1f, 0x8b}):
		return fail(assemble.Unsupported, "the file is compressed; unpack it and hand in the .dxf")
	case bytes.IndexByte(data, 0) >= 0:
		return fail(assemble.Malformed, "the file is binary, but not binary DXF")
	}
	s.data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if bytes.IndexByte(s.data, '\n') < 0 { // lines that end in CR alone
		s.data = bytes.ReplaceAll(s.data, []byte{'\r'}, []byte{'\n'})
	}
	return s, nil
}

// next reads one tag. more is false at the end of the bytes.
func (s *scanner) next() (t tag, more bool, err error) {
	for {
		if s.binary {
			t, more, err = s.nextBinary()
		} else {
			t, more, err = s.nextText()
		}
		if err != nil || !more {
			return t, more, err
		}
		if s.count++; s.count > s.limit {
			return t, false, s.errorAt(assemble.TooLarge, t.at, "the file has more than %d pairs of code and value", s.limit)
		}
		if t.code != 999 { // a comment
			return t, true, nil
		}
	}
}

func (s *scanner) nextText() (t tag, more bool, err error) {
	from, to, ok := s.readLine()
	if !ok {
		return t, false, nil
	}
	t.at = s.at - 1
	text := bytes.TrimSpace(s.data[from:to])
	if len(text) == 0 && len(bytes.TrimSpace(s.data[s.pos:])) == 0 {
		return t, false, nil // blank lines at the end
	}
	code, aerr := strconv.Atoi(string(text))
	if aerr != nil || code < -5 || code > maxCode {
		return t, false, s.errorAt(assemble.Malformed, t.at, "a group code was expected, found %q; a line is missing or was added above", assemble.Clip(string(text)))
	}
	t.code = int16(code)
	from, to, ok = s.readLine()
	if !ok {
		return t, false, nil
	}
	t.from, t.to = int32(from), int32(to)
	return t, true, nil
}

// readLine bounds the next line without its end.
func (s *scanner) readLine() (from, to int, ok bool) {
	if s.pos >= len(s.data) {
		return 0, 0, false
	}
	from = s.pos
	if n := bytes.IndexByte(s.data[from:], '\n'); n >= 0 {
		to, s.pos = from+n, from+n+1
	} else {
		to, s.pos = len(s.data), len(s.data)
	}
	s.at++
	for to > from && s.data[to-1] == '\r' {
		to--
	}
	return from, to, true
}

// raw is the value of a text tag, without its line end.
func (s *source) raw(t tag) []byte { return s.data[t.from:t.to] }

// word is the value without blanks around it.
func (s *source) word(t tag) []byte { return bytes.TrimSpace(s.raw(t)) }

// Begins tells whether a text file begins as DXF does: with a section, after comments at most.
func Begins(head []byte) bool {
	s := &scanner{source: &source{data: head}, at: 1, limit: 100}
	t, more, err := s.next()
	return err == nil && more && t.code == 0 && bytes.EqualFold(s.word(t), []byte("SECTION"))
}

// number reads the value of a tag; ok is false where it is no finite number.
func (s *source) number(t tag) (float64, bool) {
	if s.binary {
		return s.binaryNumber(t)
	}
	return parseNumber(s.word(t))
}
