package sentence

import (
	"fmt"
	"sort"
	"strings"
)

// Fault is one mistake in a draft or card, for the person whose finger is on the line. Line and
// Column count from 1.
type Fault struct {
	File         string
	Line, Column int
	Text, Mend   string
	// Rule is the name of the rule that it breaks, empty for what cannot be read as it is written.
	Rule string
	// First is told before all others: a measure that cannot be right is the cause of much.
	First bool
}

// String is file:line:column: the fault; its mend.
func (f Fault) String() string {
	s := fmt.Sprintf("%s:%d:%d: %s", f.File, f.Line, f.Column, f.Text)
	if f.Mend != "" {
		s += "; " + f.Mend
	}
	return s
}

// Error is every mistake found in one draft, in the order of its lines. Draft is the draft's own name: what lies in
// another file lies on the measure card, or in one of the blocks from which the draft takes.
type Error struct {
	Draft  string
	Blocks []string // their files
	List   []Fault
}

// Error lists all faults, one a line.
func (e *Error) Error() string {
	lines := make([]string, len(e.List))
	for i, f := range e.List {
		lines[i] = f.String()
	}
	return strings.Join(lines, "\n")
}

// Sort puts faults in the order of the lines and drops what was said of one place already: a traced
// sentence fails in each drawing.
func (e *Error) Sort() {
	sort.SliceStable(e.List, func(i, j int) bool {
		a, b := e.List[i], e.List[j]
		if a.First != b.First {
			return a.First
		}
		if a.File != b.File {
			return a.File == e.Draft || b.File != e.Draft && a.File < b.File
		}
		return a.Line < b.Line || a.Line == b.Line && a.Column < b.Column
	})
	var once []Fault
	for _, f := range e.List {
		if k := len(once); k > 0 && once[k-1].File == f.File && once[k-1].Line == f.Line && once[k-1].Column == f.Column {
			continue
		}
		once = append(once, f)
	}
	e.List = once
}

// stop unwinds the reader of one sentence to Reading, which alone knows it: a reader is many functions deep, and a slip
// of the pen may come in each. Its fault is nil where the sentence needs what is refused already.
type stop struct{ fault *Fault }

// Fail ends the reading of the sentence with a slip of the pen at rune i.
func (p *Cursor) Fail(i int, text, mend string) {
	f := p.Fault(i, text, mend)
	panic(stop{&f})
}

// GiveUp ends the reading of a sentence that needs the names of something that is refused: nothing more is said of it.
func (p *Cursor) GiveUp() { panic(stop{}) }

// Reading runs the reader of one sentence to its end, or up to where it fails with a fault or gives up without.
func Reading(read func()) (whole bool, slip *Fault) {
	defer func() {
		switch r := recover().(type) {
		case nil:
		case stop:
			whole, slip = false, r.fault
		default:
			panic(r)
		}
	}()
	read()
	return true, nil
}
