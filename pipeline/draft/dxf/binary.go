package dxf

import (
	"bytes"
	"encoding/binary"
	"math"

	"tracewheel/pipeline/draft/assemble"
)

// form is how a value lies in a binary file.
type form uint8

const (
	formText form = iota
	formDouble
	formInt16
	formInt32
	formInt64
	formBool
	formChunk // a byte of length, then as many bytes
)

// formOf is the form that the reference gives to the values of a group code.
func formOf(code int16) form {
	in := func(lo, hi int16) bool { return code >= lo && code <= hi }
	switch {
	case in(10, 59), in(110, 149), in(210, 239), in(460, 469), in(1010, 1059):
		return formDouble
	case in(60, 79), in(170, 179), in(270, 289), in(370, 389), in(400, 409), in(1060, 1070):
		return formInt16
	case in(90, 99), in(420, 429), in(440, 459), code == 1071:
		return formInt32
	case in(160, 169):
		return formInt64
	case in(290, 299):
		return formBool
	case in(310, 319), code == 1004:
		return formChunk
	}
	return formText
}

func (f form) size() int {
	switch f {
	case formDouble, formInt64:
		return 8
	case formInt16:
		return 2
	case formInt32:
		return 4
	case formBool:
		return 1
	}
	return 0
}

func (s *scanner) nextBinary() (t tag, more bool, err error) {
	start := s.pos
	code, ok := s.binaryCode()
	if !ok {
		return t, false, nil
	}
	t.at = int32(start)
	if code < -5 || code > maxCode {
		return t, false, s.errorAt(assemble.Malformed, t.at, "%d is no group code", code)
	}
	t.code = code
	f := formOf(code)
	n := f.size()
	switch f {
	case formText:
		n = bytes.IndexByte(s.data[s.pos:], 0)
		if n < 0 {
			return t, false, nil
		}
		t.from, t.to = int32(s.pos), int32(s.pos+n)
		s.pos += n + 1
		return t, true, nil
	case formChunk:
		if s.pos >= len(s.data) {
			return t, false, nil
		}
		n = int(s.data[s.pos])
		s.pos++
	}
	if s.pos+n > len(s.data) {
		return t, false, nil
	}
	t.from, t.to = int32(s.pos), int32(s.pos+n)
	s.pos += n
	return t, true, nil
}

func (s *scanner) binaryCode() (int16, bool) {
	left := s.data[s.pos:]
	switch {
	case s.narrow && len(left) >= 1 && left[0] != 255:
		s.pos++
		return int16(left[0]), true
	case s.narrow && len(left) >= 3:
		s.pos += 3
		return int16(binary.LittleEndian.Uint16(left[1:])), true
	case !s.narrow && len(left) >= 2:
		s.pos += 2
		return int16(binary.LittleEndian.Uint16(left)), true
	}
	return 0, false
}

// binaryNumber reads the raw value; ok is false where it is no finite number.
func (s *source) binaryNumber(t tag) (v float64, ok bool) {
	b := s.raw(t)
	switch formOf(t.code) {
	case formDouble:
		v = math.Float64frombits(binary.LittleEndian.Uint64(b))
	case formInt16:
		v = float64(int16(binary.LittleEndian.Uint16(b)))
	case formInt32:
		v = float64(int32(binary.LittleEndian.Uint32(b)))
	case formInt64:
		v = float64(int64(binary.LittleEndian.Uint64(b)))
	case formBool:
		v = float64(b[0])
	default:
		return parseNumber(bytes.TrimSpace(b))
	}
	return v, v-v == 0
}
