package hpgl

import (
	"bytes"
	"regexp"
	"strings"

	"tracewheel/devices"
)

// source is the bytes of the language, without device control and other languages.
type source struct {
	data   []byte
	offset []int // place of each byte in the file, nil where nothing was removed
	faults []Fault
	hpgl2  bool // a switch to HP-GL/2 was seen
}

func (s source) at(i int) int {
	if s.offset == nil || i >= len(s.offset) {
		return i
	}
	return s.offset[i]
}

var entersHPGL2 = regexp.MustCompile(`\x1b%-?[0-9]+B`)

// strip removes escape sequences first, as a device does wherever they stand: ESC . and its parameters, ESC E, ESC %
// ... A, B or X. The bytes between a switch away from HP-GL/2 and the next switch into it are another language.
func strip(data []byte) source {
	if !bytes.ContainsRune(data, 0x1b) {
		return source{data: data}
	}
	s := source{data: make([]byte, 0, len(data)), offset: make([]int, 0, len(data)+1)}
	away := false
	for i := 0; i < len(data); {
		if data[i] != 0x1b {
			if !away {
				s.data, s.offset = append(s.data, data[i]), append(s.offset, i)
			}
			i++
			continue
		}
		n, to := escape(data[i:])
		switch to {
		case 'B':
			away, s.hpgl2 = false, true
		case 'A', 'X', 'E':
			away = s.hpgl2 || entersHPGL2.Match(data[i+n:])
		case 0:
			s.faults = append(s.faults, Fault{Offset: i, Severity: SeverityError, Text: "an escape byte that begins no sequence known here"})
		}
		i += n
	}
	s.offset = append(s.offset, len(data))
	return s
}

// escape measures the escape sequence at the start of data. kind is '.', 'E', 'A', 'B' or 'X', 0 for none.
func escape(data []byte) (n int, kind byte) {
	if len(data) < 2 {
		return len(data), 0
	}
	switch data[1] {
	case 'E':
		return 2, 'E'
	case '%':
		i := 2
		for i < len(data) && (data[i] == '-' || data[i] >= '0' && data[i] <= '9') {
			i++
		}
		if i < len(data) && strings.IndexByte("ABX", data[i]) >= 0 {
			return i + 1, data[i]
		}
	case '.':
		if len(data) < 3 {
			return len(data), 0
		}
		i := 3
		if strings.IndexByte("@HIMNPQST", data[2]) >= 0 {
			for i < len(data) && (data[i] == ';' || data[i] == ' ' || data[i] >= '0' && data[i] <= '9') {
				i++
			}
			if i < len(data) && data[i] == ':' {
				i++
			}
		}
		return i, '.'
	}
	return 1, 0
}

// guess infers the dialect from instructions that only one of them has.
func guess(s source) devices.Language {
	if s.hpgl2 {
		return devices.HPGL2
	}
	lex := &lexer{source: s, hpgl2: true, end: 3}
	quiet := newMachine(ReadOptions{Unit: 0.025})
	for {
		in, ok := lex.next(quiet)
		if !ok {
			return devices.HPGL
		}
		switch in.name {
		case "PE", "PW", "WU", "BP", "RT", "MC", "TR", "BR", "BZ":
			return devices.HPGL2
		}
	}
}

// instruction is two letters with their numbers, or with raw bytes where it takes text.
type instruction struct {
	name   string
	offset int
	args   []float64
	raw    []byte
	ended  bool // a label's terminator, or the ";" of PE, was found
}

// lexer splits the bytes into instructions.
type lexer struct {
	source
	hpgl2 bool
	pos   int
	end   byte // the label terminator
}

// next gives the next instruction; syntax faults are recorded in m.
func (l *lexer) next(m *machine) (instruction, bool) {
	for l.pos < len(l.data) {
		c := l.data[l.pos]
		if !letter(c) {
			if c >= '0' && c <= '9' || c == '.' || c >= 127 {
				m.event(l.at(l.pos), SeverityError, "a byte out of place between instructions: %q", c)
				l.skipJunk()
				continue
			}
			l.pos++
			continue
		}
		in := instruction{offset: l.at(l.pos)}
		if l.pos+1 >= len(l.data) || !letter(l.data[l.pos+1]) {
			m.event(in.offset, SeverityError, "a single letter %q is no instruction", c)
			l.pos++
			continue
		}
		in.name = strings.ToUpper(string(l.data[l.pos : l.pos+2]))
		l.pos += 2
		l.operands(&in)
		return in, true
	}
	return instruction{}, false
}

func (l *lexer) skipJunk() {
	for l.pos < len(l.data) && !letter(l.data[l.pos]) && l.data[l.pos] != ';' {
		l.pos++
	}
}

func letter(c byte) bool { return c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z' }

// operands reads the operands behind the two letters.
func (l *lexer) operands(in *instruction) {
	switch in.name {
	case "LB", "WD", "BL":
		in.raw, in.ended = l.upTo(l.end)
	case "PE":
		in.raw, in.ended = l.upTo(';')
	case "DT":
		l.terminator(in)
	case "SM":
		if l.pos < len(l.data) && l.data[l.pos] != ';' {
			in.raw = l.data[l.pos : l.pos+1]
			l.pos++
		}
	case "CO", "MG", "BP":
		l.quoted(in)
	default:
		l.numbers(in)
	}
}

func (l *lexer) upTo(end byte) ([]byte, bool) {
	rest := l.data[l.pos:]
	i := bytes.IndexByte(rest, end)
	if i < 0 {
		l.pos = len(l.data)
		return rest, false
	}
	l.pos += i + 1
	return rest[:i], true
}

// terminator reads the operand of DT. In HP-GL it is the next byte, even a semicolon (7470A manual, 5-6); in HP-GL/2
// "DT;" restores ETX (PCL 5 reference, 23-44).
func (l *lexer) terminator(in *instruction) {
	if l.pos >= len(l.data) {
		return
	}
	c := l.data[l.pos]
	if l.hpgl2 && c == ';' {
		l.end = 3
		l.pos++
		return
	}
	l.pos++
	in.raw = []byte{c}
	if c != 0 && c != 5 && c != 27 {
		l.end = c
	}
	l.numbers(&instruction{})
}

// quoted skips a string in quotation marks, and numbers before it.
func (l *lexer) quoted(in *instruction) {
	l.numbers(in)
	if l.pos < len(l.data) && l.data[l.pos] == '"' {
		l.pos++
		in.raw, _ = l.upTo('"')
	}
}

// numbers reads numbers and their separators: commas, blanks, or the sign of the next. There are no exponents: 1e5 is
// 1 followed by a letter (PCL 5 reference, 17-11; 7470A manual, 3-8).
func (l *lexer) numbers(in *instruction) {
	for l.pos < len(l.data) {
		c := l.data[l.pos]
		switch {
		case c == ',' || c == ' ' || c == '\t' || c == '\r' || c == '\n':
			l.pos++
		case c == '+' || c == '-' || c == '.' || c >= '0' && c <= '9':
			v, ok := l.number()
			if !ok {
				return
			}
			in.args = append(in.args, v)
		default:
			return
		}
	}
}

func (l *lexer) number() (float64, bool) {
	negative, digits := false, 0
	switch l.data[l.pos] {
	case '-':
		negative = true
		l.pos++
	case '+':
		l.pos++
	}
	var v float64
	place := 0.0
	for ; l.pos < len(l.data); l.pos++ {
		c := l.data[l.pos]
		if c == '.' && place == 0 {
			place = 1
			continue
		}
		if c < '0' || c > '9' {
			break
		}
		digits++
		if place == 0 {
			v = v*10 + float64(c-'0')
			continue
		}
		place /= 10
		v += float64(c-'0') * place
	}
	if negative {
		v = -v
	}
	return v, digits > 0
}

// count reports a wrong number of parameters.
func (m *machine) count(in instruction) {
	m.fault("%s with %d numbers: a wrong count", in.name, len(in.args))
}
