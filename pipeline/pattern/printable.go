package pattern

import (
	"fmt"
	"strings"
	"unicode"
)

// Printable keeps a name from playing with a terminal: what is no visible letter, mark or space is
// shown as U+FFFD and not obeyed, marks that turn the direction of writing too. The two joiners that
// some scripts need stay.
func Printable(s string) string {
	return strings.Map(printable, s)
}

// IsPrintable tells whether Printable shows no U+FFFD for it: no mark in it is obeyed by a terminal or turns the direction of
// writing.
func IsPrintable(s string) bool { return !strings.ContainsRune(Printable(s), '\uFFFD') }

func printable(r rune) rune {
	switch {
	case unicode.IsPrint(r) || r == '\u200c' || r == '\u200d':
		return r
	case unicode.Is(unicode.Zs, r):
		return ' '
	}
	return '\uFFFD'
}

// Readable is Printable of a text of several lines, whose line ends and tabs stay.
func Readable(text string) string {
	return strings.Map(func(r rune) rune {
		if r == '\n' || r == '\t' {
			return r
		}
		return printable(r)
	}, text)
}

// Short is a name for a line of a list, printable, with its beginning and its end where it is longer than widest; `show` and
// JSON have it whole.
func Short(name string) string {
	const widest = 40
	r := []rune(Printable(name))
	if len(r) <= widest {
		return string(r)
	}
	return string(r[:widest*2/3]) + "…" + string(r[len(r)-(widest-1-widest*2/3):])
}

// AndList joins words, of which there is one at least: "a, b and c".
func AndList(words []string) string {
	if k := len(words) - 1; k > 0 {
		return strings.Join(words[:k], ", ") + " and " + words[k]
	}
	return words[0]
}

// Count says how many of a thing: "1 notch", "2 notches".
func Count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %s", n, plural(what))
}

// plural is the word for several.
func plural(what string) string {
	if strings.HasSuffix(what, "ch") || strings.HasSuffix(what, "s") {
		return what + "es"
	}
	return what + "s"
}
