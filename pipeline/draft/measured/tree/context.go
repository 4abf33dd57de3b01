// Package tree reads the sentences of numbers, points and edges, each into a tree of parts that know their
// place in the file, and works them out: without reading again, each when it is first asked for. A slip of
// the pen ends the reading of its sentence, and Context.Try keeps it; what cannot be worked out is kept as a
// fault (Parser.Refuse) and gives nothing. Lengths are in the draft's unit.
package tree

import (
	"errors"
	"fmt"
	"math"
	"slices"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
)

// Context is what the sentences of one draft, drawn for one body, share.
type Context struct {
	Document *sentence.Document
	Unit     string
	UnitMM   float64
	Top      *Scope
	Scopes   []*Scope // of the drawings, in their order
	Faults   []sentence.Fault
	Findings []pattern.Finding
	Truings  []Truing
	OfPieces ofPieces
	// Keep gives what brings back all that is worked out of drawings by now: a trial forgets the rest.
	Keep func() (bringBack func())
	// From is where the document names the block from which it takes, nil for none.
	From *yaml.Node
	// Done, once closed, has nothing further read or worked out; nil never is.
	Done <-chan struct{}

	busy      []*Definition // being worked out, each for the one before
	begun     []*Definition // what was worked out for a number that is only supposed
	trials    int           // how many of these there are, one within the other
	rests     int           // the innermost of them on which rests what is being worked out; 0 for none
	stuck     bool          // the sentence that is being worked out is refused
	nameLists map[nameKey][]string
	compared  int // how many names were compared with wrong ones
}

// ErrGivenUp is the error of a draft for which nobody waits any more.
var ErrGivenUp = errors.New("the draft is not worked out any further, since nobody waits for it")

// GivenUp tells whether nobody waits for the draft any more. Each sentence then is as one that is refused, without a fault.
func (e *Context) GivenUp() bool {
	select {
	case <-e.Done:
		return true
	default:
		return false
	}
}

// ofCard tells of a fault that lies in a measure card, not in the draft or in a block that is brought in.
func (e *Context) ofCard(f sentence.Fault) bool {
	return f.Text != "" && f.File != e.Document.Name && !slices.Contains(e.Document.Brought, f.File)
}

// comparedMost bounds what is spent on suggestions: 300 slips in a draft of 300 names have theirs.
const comparedMost = 100_000

// MayCompare tells whether a wrong name may be compared with n names, to say which of them is meant. Each search reads all
// of them, so that a draft of thousands of slips has suggestions for its first ones only.
func (e *Context) MayCompare(n int) bool {
	if e.compared+n > comparedMost {
		return false
	}
	e.compared += n
	return true
}

// Nearest is sentence.Nearest among names of the draft, "" once enough were sought.
func (e *Context) Nearest(word string, known []string) string {
	if !e.MayCompare(len(known)) {
		return ""
	}
	return sentence.Nearest(word, known)
}

// ofPieces measures what a number may ask of the pieces that are made of drawings. Each reads its words
// from the parser and refuses, there, what is not known; the number is worked out later.
type ofPieces interface {
	// EdgeNames lists the edges of all pieces, each with its piece's name before it.
	EdgeNames() []string
	// EdgeLength is how long an edge of a piece is as worn.
	EdgeLength(p *Parser) Number
	// Width is how wide a drawing is at a point's level; sewn, without what its darts take there.
	Width(p *Parser, sewn bool) Number
	// Radius is the radius of the seam of a circle that fits it.
	Radius(p *Parser) Number
}

// NewContext is a document's, of which nothing is read yet.
func NewContext(doc *sentence.Document) *Context {
	c := &Context{Document: doc, UnitMM: 1, nameLists: map[nameKey][]string{}}
	c.Top = NewScope(c, nil, "")
	return c
}

// Block lets what is being worked out give nothing: it needs something that was refused.
func (e *Context) Block() { e.stuck = true }

// Rest says that what is being worked out may rest on every number that is only supposed: it asks for more than
// definitions, and a trial forgets it.
func (e *Context) Rest() { e.rests = e.trials }

// Blocked tells whether what is being worked out is refused.
func (e *Context) Blocked() bool { return e.stuck }

// Fail keeps a fault that is no sentence's of its own.
func (e *Context) Fail(f sentence.Fault) { e.refuse(f) }

// Hair is how far apart, in the draft's unit, two ends may lie and still be one point: far below
// what a pen draws, far above rounding.
func (e *Context) Hair() float64 { return 0.001 / e.UnitMM }

// refuse keeps the fault of what is being worked out, unless one is kept of it.
func (e *Context) refuse(f sentence.Fault) {
	if !e.stuck {
		e.Faults = append(e.Faults, f)
	}
	e.stuck = true
}

// Try reads a sentence or works one out, and keeps the fault it stops with; false then.
func (e *Context) Try(f func()) bool { return e.try(f, nil) }

// try is Try that keeps a slip of the pen as moved gives it, nil for as it is.
func (e *Context) try(f func(), moved func(sentence.Fault) sentence.Fault) bool {
	if e.GivenUp() {
		return false
	}
	outer, rests := e.stuck, e.rests
	e.stuck = false
	whole, slip := sentence.Reading(f)
	switch {
	case slip == nil:
	case moved == nil:
		e.Faults = append(e.Faults, *slip)
	default:
		e.Faults = append(e.Faults, moved(*slip))
	}
	ok := whole && !e.stuck
	e.stuck, e.rests = outer, max(rests, e.rests)
	return ok
}

// Run works steps out one after the other, and keeps the fault of each.
func (e *Context) Run(steps []func()) {
	for _, s := range steps {
		e.Try(s)
	}
}

// AddFault keeps a fault at a place of the document.
func (e *Context) AddFault(n *yaml.Node, text, mend string) {
	e.Faults = append(e.Faults, sentence.Fault{File: e.Document.Of(n).Name, Line: n.Line, Column: n.Column, Text: text, Mend: mend})
}

// Truing is by how much the two edges at one end of a princess seam were trued, the centre panel's first.
type Truing struct {
	At      string
	Carried [2]float64 // by how much each leg was carried on to be as long as the other
	Turned  float64    // degrees by which each edge was turned to run on across the seam
}

// Note adds a finding about a sentence of the draft; one of a block is told where the draft names the block.
func (e *Context) Note(s *sentence.Sentence, rule string, sev pattern.Severity, text, mend string) *pattern.Finding {
	if s.File != e.Document.Name && e.From != nil {
		return e.NoteAt(e.From.Line, e.From.Column, rule, sev, fmt.Sprintf("%s, line %d: %s", s.File, s.Line, text), mend)
	}
	return e.NoteAt(s.Line, s.Column, rule, sev, text, mend)
}

// NoteAt adds a finding about a place of the draft; the caller may say more in it.
func (e *Context) NoteAt(line, col int, rule string, sev pattern.Severity, text, mend string) *pattern.Finding {
	f := pattern.NewFinding(rule, text, mend)
	f.Severity, f.Line, f.Column = sev, line, col
	e.Findings = append(e.Findings, f)
	return &e.Findings[len(e.Findings)-1]
}

// Say writes a length of the draft, or another of its numbers: a fraction where it counts in inches.
func (e *Context) Say(v float64) string {
	if text := pattern.Inches(v * 25.4); e.Unit == "in" && (text != "0" || v == 0) {
		return text
	}
	return sentence.FormatNumber(v)
}

// Example writes a length, in mm, for the example of a message: in the draft's unit, rounded as a person says it.
func (e *Context) Example(mm float64) string {
	parts := map[string]float64{"in": 8, "cm": 10}[e.Unit]
	if parts == 0 {
		parts = 1
	}
	return e.Say(math.Round(mm/e.UnitMM*parts) / parts)
}

// WithUnit writes a length with the draft's unit.
func (e *Context) WithUnit(v float64) string {
	return e.Say(v) + " " + e.Unit
}
