package dxf

import (
	"bytes"
	"slices"
	"strconv"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/japanese"
	"golang.org/x/text/encoding/korean"
	"golang.org/x/text/encoding/simplifiedchinese"
	"golang.org/x/text/encoding/traditionalchinese"
)

// texts decodes the strings of a file.
type texts struct {
	page    string // $DWGCODEPAGE
	settled bool
	utf8    bool
	enc     encoding.Encoding
}

// pages are the code pages that $DWGCODEPAGE names, by their number.
var pages = map[string]encoding.Encoding{
	"1250": charmap.Windows1250, "1251": charmap.Windows1251, "1252": charmap.Windows1252,
	"1253": charmap.Windows1253, "1254": charmap.Windows1254, "1255": charmap.Windows1255,
	"1256": charmap.Windows1256, "1257": charmap.Windows1257, "1258": charmap.Windows1258,
	"874": charmap.Windows874, "932": japanese.ShiftJIS, "936": simplifiedchinese.GBK,
	"949": korean.EUCKR, "950": traditionalchinese.Big5,
	"2312": simplifiedchinese.GBK, "5601": korean.EUCKR, "5": traditionalchinese.Big5, // GB2312, KSC5601, BIG5
	"437": charmap.CodePage437, "850": charmap.CodePage850, "852": charmap.CodePage852, "866": charmap.CodePage866,
}

// settle chooses the encoding: UTF-8 from version AC1021 on, and in older files too where the bytes
// beyond ASCII are sound UTF-8; else the code page; else 1252.
func (t *texts) settle(version string, s *source) {
	if t.settled {
		return
	}
	t.settled = true
	t.utf8 = version >= "AC1021"
	number := strings.TrimLeft(t.page, "ABCDEFGHIJKLMNOPQRSTUVWXYZ_ -")
	t.enc = pages[number]
	if !t.utf8 && !s.binary {
		t.utf8 = !ascii(s.data) && utf8.Valid(s.data) && (!doubleByte(t.enc) || wide(s.data))
	}
	if t.enc == nil {
		t.enc = charmap.Windows1252
	}
}

func doubleByte(enc encoding.Encoding) bool {
	_, single := enc.(*charmap.Charmap)
	return enc != nil && !single
}

// wide tells whether sound UTF-8 holds letters of three bytes or more, as all letters of East Asia
// are. Two bytes of a double-byte code page are often sound UTF-8 too, but of another script.
func wide(b []byte) bool {
	return bytes.ContainsFunc(b, func(r rune) bool { return r >= 0x800 })
}

func ascii(b []byte) bool {
	return !slices.ContainsFunc(b, func(c byte) bool { return c >= utf8.RuneSelf })
}

// text decodes a value. Escapes for single characters are resolved after the code page, in whose
// double bytes a backslash may lie.
func (t *texts) text(b []byte) string {
	s := string(b)
	if !ascii(b) && (!t.utf8 || !utf8.Valid(b)) {
		if out, err := t.enc.NewDecoder().Bytes(b); err == nil {
			s = string(out)
		}
	}
	if strings.Contains(s, `\U+`) || strings.Contains(s, `\M+`) {
		s = escapes(s)
	}
	return strings.ToValidUTF8(s, "\uFFFD")
}

// escapes resolves \U+XXXX and \M+nXXXX, where n tells a double-byte code page.
func escapes(s string) string {
	var out strings.Builder
	for i := 0; i < len(s); {
		if r, n := unicodeEscape(s[i:]); n > 0 {
			if utf16.IsSurrogate(r) {
				if low, m := unicodeEscape(s[i+n:]); m > 0 {
					r, n = utf16.DecodeRune(r, low), n+m
				}
			}
			out.WriteRune(r)
			i += n
			continue
		}
		if text, n := doubleByteEscape(s[i:]); n > 0 {
			out.WriteString(text)
			i += n
			continue
		}
		out.WriteByte(s[i])
		i++
	}
	return out.String()
}

func unicodeEscape(s string) (r rune, n int) {
	if len(s) < 7 || !strings.HasPrefix(s, `\U+`) {
		return 0, 0
	}
	v, err := strconv.ParseUint(s[3:7], 16, 32)
	if err != nil {
		return 0, 0
	}
	return rune(v), 7
}

func doubleByteEscape(s string) (text string, n int) {
	if len(s) < 8 || !strings.HasPrefix(s, `\M+`) {
		return "", 0
	}
	enc := map[byte]encoding.Encoding{'1': pages["932"], '2': pages["950"], '3': pages["949"], '5': pages["936"]}[s[3]]
	v, err := strconv.ParseUint(s[4:8], 16, 16)
	if enc == nil || err != nil {
		return "", 0
	}
	out, err := enc.NewDecoder().Bytes([]byte{byte(v >> 8), byte(v)})
	if err != nil {
		return "", 0
	}
	return string(out), 8
}

// cleanText resolves the marks of a TEXT: %%d degrees, %%p plus or minus, %%c diameter, %%nnn a
// character by number; the marks for lines over and under are dropped.
func cleanText(s string) string {
	if !strings.Contains(s, "%%") {
		return printable(s)
	}
	var out strings.Builder
	for i := 0; i < len(s); {
		if !strings.HasPrefix(s[i:], "%%") || i+2 >= len(s) {
			out.WriteByte(s[i])
			i++
			continue
		}
		i += 2
		switch s[i] {
		case 'd', 'D':
			out.WriteString("°")
		case 'p', 'P':
			out.WriteString("±")
		case 'c', 'C':
			out.WriteString("⌀")
		case 'u', 'U', 'o', 'O', 'k', 'K':
		case '%':
			out.WriteByte('%')
		default:
			if v, err := strconv.ParseUint(s[i:min(i+3, len(s))], 10, 8); err == nil && i+3 <= len(s) {
				out.WriteRune(charmap.Windows1252.DecodeByte(byte(v)))
				i += 2
			} else {
				out.WriteString("%%")
				continue
			}
		}
		i++
	}
	return printable(out.String())
}

// cleanMText resolves the marks of an MTEXT and keeps its words and line breaks.
func cleanMText(s string) string {
	var out strings.Builder
	for i := 0; i < len(s); i++ {
		c := s[i]
		if c == '{' || c == '}' {
			continue
		}
		if c != '\\' || i+1 >= len(s) {
			out.WriteByte(c)
			continue
		}
		i++
		switch s[i] {
		case 'P', 'N', 'X':
			out.WriteByte('\n')
		case '~':
			out.WriteByte(' ')
		case '\\', '{', '}':
			out.WriteByte(s[i])
		case 'L', 'l', 'O', 'o', 'K', 'k':
		case 'f', 'F', 'H', 'C', 'c', 'A', 'T', 'Q', 'W', 'p', 'S':
			end := strings.IndexByte(s[i:], ';')
			if end < 0 {
				end = len(s) - i
			}
			if s[i] == 'S' { // a fraction
				out.WriteString(strings.NewReplacer("^", "/", "#", "/").Replace(s[i+1 : i+end]))
			}
			i += end
		default:
			out.WriteByte('\\')
			out.WriteByte(s[i])
		}
	}
	return cleanText(out.String())
}

// printable drops control characters, also in their caret form, but for the end of a line.
func printable(s string) string {
	s = strings.NewReplacer("^J", "\n", "^I", " ", "^M", "").Replace(s)
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\n':
			return r
		case r == '\t':
			return ' '
		case r < ' ' || r == 0x7f:
			return -1
		}
		return r
	}, s)
	return strings.TrimSpace(s)
}

// words are the letters of a text entity; a long MTEXT has all but its end in code 3.
func (f *file) words(tags []tag) string {
	var parts [][]byte
	var last []byte
	for _, t := range tags {
		switch t.code {
		case 3:
			parts = append(parts, f.raw(t))
		case 1:
			last = f.raw(t)
		}
	}
	return f.text(bytes.Join(append(parts, last), nil))
}
