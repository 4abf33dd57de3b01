package pattern

import (
	"strings"

	"github.com/paulmach/orb"
)

// Severity is how much a finding matters.
type Severity string

// An error refuses the draft, a warning is shown on the job, a note is told. Off silences a rule.
const (
	Error   Severity = "error"
	Warning Severity = "warning"
	Note    Severity = "note"
	Off     Severity = "off"
)

// Finding is what a reader or a check has to say about one place of a draft.
type Finding struct {
	Rule     string
	Severity Severity
	// Piece is the piece's name; Index its place in Pattern.Pieces, -1 where it is about the file.
	Piece string
	Index int
	Edge  string
	// Message says what is wrong, with the figures; Mend what a person can do about it.
	Message string
	Mend    string
	// At is the place in the draft's frame, nil where there is none.
	At *orb.Point
	// Stretch is the line to be shown in a picture: where the allowance is too narrow, say.
	Stretch []orb.Point
	// Line and Column are the place in the file, from 1; 0 where unknown.
	Line, Column int
	// Said is that line as the draft writes it, where the draft is refused for it; "" else.
	Said string
	// Hold marks what a person must answer before the job goes on; it is not a fault of the draft.
	Hold bool
	// Bodies are those of the draft of which one is to be said, where the question is whose measures count.
	Bodies []string
}

// LineOf is a line of a text, from 1, without what stands around it; "" where it has none, and cut where it is very long.
func LineOf(text []byte, line int) string {
	const most = 100
	lines := strings.Split(string(text), "\n")
	if line < 1 || line > len(lines) {
		return ""
	}
	said := []rune(strings.TrimSpace(lines[line-1]))
	if len(said) > most {
		said = append(said[:most], '…')
	}
	return string(said)
}

// Worst is the highest severity among findings, Off for none.
func Worst(fs []Finding) Severity {
	worst := Off
	for _, f := range fs {
		if rank(f.Severity) > rank(worst) {
			worst = f.Severity
		}
	}
	return worst
}

func rank(s Severity) int {
	switch s {
	case Error:
		return 3
	case Warning:
		return 2
	case Note:
		return 1
	}
	return 0
}

// Place makes the pointer that Finding.At wants.
func Place(p orb.Point) *orb.Point { return &p }

// Word is what a person reads of how grave a finding is: error, warning or note, or that it is a question.
func (f Finding) Word() string {
	if f.Hold {
		return "question"
	}
	return string(f.Severity)
}
