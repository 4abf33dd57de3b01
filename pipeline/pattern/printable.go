package pattern

import (
	"strings"
	"unicode"
)

// Printable keeps a name from playing with a terminal: what is no visible letter, mark or space is
// shown as U+FFFD and not obeyed, marks that turn the direction of writing too. The two joiners that
// some scripts need stay.
func Printable(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsPrint(r) || r == '\u200c' || r == '\u200d':
			return r
		case unicode.Is(unicode.Zs, r):
			return ' '
		}
		return '\uFFFD'
	}, s)
}
