package assemble

import "fmt"

// Kind tells why a file cannot be read at all.
type Kind int

// The kinds of Unreadable.
const (
	Malformed   Kind = iota // it is not well formed
	Unsupported             // it is sound, but of a form that is not read
	TooLarge                // it goes beyond a limit
)

// Unreadable is a reader's error for a file that cannot be read at all. Line and Column count from 1
// and are 0 where the fault has none; of a binary file the text names the byte.
type Unreadable struct {
	Kind         Kind
	Line, Column int
	Text         string
}

func (e *Unreadable) Error() string {
	switch {
	case e.Column > 0:
		return fmt.Sprintf("line %d, column %d: %s", e.Line, e.Column, e.Text)
	case e.Line > 0:
		return fmt.Sprintf("line %d: %s", e.Line, e.Text)
	}
	return e.Text
}

// Clip shortens a name out of a file to what a message has room for.
func Clip(s string) string {
	const most = 40
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "..."
	}
	return s
}
