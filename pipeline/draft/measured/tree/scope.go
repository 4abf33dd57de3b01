package tree

import (
	"slices"
	"strings"
	"unicode/utf8"

	"tracewheel/pipeline/draft/measured/sentence"
)

// Kind is what a name stands for.
type Kind int

const (
	NumberKind Kind = iota // a measure or a number
	PointKind              // a point
	EdgeKind               // a line, arc or curve
)

// String is the word for it.
func (k Kind) String() string { return [...]string{"number", "point", "edge"}[k] }

func (k Kind) article() string {
	if k == EdgeKind {
		return "an edge"
	}
	return "a " + k.String()
}

// The first words by which a sentence tells what it is; anything else is arithmetic.
var (
	pointVerbs = []string{"start", "from", "half-way", "halfway", "half way", "where", "along", "swung", "carried", "mirrored", "turned"}
	curveVerbs = []string{"line", "arc", "curve", "two arcs"}
)

// functions are the words of arithmetic over what has been drawn.
var functions = []string{"distance", "length of", "sewn length of", "out of", "down of", "half", "half of", "a third of", "a quarter of", "quarter of", "third of", "an eighth of", "root of", "pi", "width of", "sewn width of", "radius of", "larger of", "smaller of"}

// Scope is where names are looked up: a drawing, or the draft as a whole above it.
type Scope struct {
	Context     *Context
	up          *Scope
	Name        string
	Order       []string
	heads       []head // of Order
	Definitions map[string]*Definition
	Altered     *Alteration // by fittings, nil for none
}

// head is a name's kind and first letter, by which most names are told apart from what a sentence says.
type head struct {
	kind  Kind
	first rune
}

// NewScope is a scope without names of its own, below another or none.
func NewScope(c *Context, up *Scope, name string) *Scope {
	return &Scope{Context: c, up: up, Name: name, Definitions: map[string]*Definition{}}
}

// Define enters the sentence of a name.
func (sc *Scope) Define(en sentence.Entry, k Kind) *Definition {
	d := &Definition{name: en.Key, Sentence: en.Sentence, Line: en.KeyNode.Line, Column: en.KeyNode.Column, scope: sc, Kind: k}
	sc.set(d)
	return d
}

// Measure enters a measure of the body, in the draft's unit.
func (sc *Scope) Measure(en sentence.Entry, v float64) {
	d := sc.Define(en, NumberKind)
	d.state, d.reading, d.Number, d.Measure = worked, worked, v, en.Key
}

// Copy enters what another scope, or this one by another name, tells.
func (sc *Scope) Copy(d *Definition, name string) {
	c := *d
	c.scope, c.name = sc, name
	sc.set(&c)
}

// Trace enters what another drawing tells, as the sentence says.
func (sc *Scope) Trace(d *Definition, said *sentence.Sentence) {
	sc.Copy(d, d.name)
	c := sc.Definitions[d.name]
	c.traced, c.told = said, d
}

func (sc *Scope) set(d *Definition) {
	first, _ := utf8.DecodeRuneInString(d.name)
	if _, ok := sc.Definitions[d.name]; ok {
		sc.heads[slices.Index(sc.Order, d.name)].kind = d.Kind
	} else {
		sc.Order, sc.heads = append(sc.Order, d.name), append(sc.heads, head{d.Kind, first})
	}
	sc.Definitions[d.name] = d
	clear(sc.Context.nameLists)
}

// Read reads all sentences, so that every slip of the pen is told at once.
func (sc *Scope) Read() {
	for _, n := range sc.Order {
		sc.Definitions[n].read()
	}
}

// Work works all of them out that nothing asked for before, and keeps their faults.
func (sc *Scope) Work() {
	for _, n := range sc.Order {
		sc.Context.Try(func() { sc.Definitions[n].work(nil, 0) })
	}
}

// KindOf classes a sentence by its first words.
func KindOf(s *sentence.Sentence) Kind {
	p := &sentence.Cursor{Sentence: s}
	for _, v := range pointVerbs {
		if p.Is(v) >= 0 {
			return PointKind
		}
	}
	for _, v := range curveVerbs {
		if p.Is(v) >= 0 {
			return EdgeKind
		}
	}
	if strings.Contains(string(s.Text), " of the way ") {
		return PointKind
	}
	return NumberKind
}

// longest is the longest of the scope's own names of a kind that comes next, and where it ends; -1 for none.
func (sc *Scope) longest(p *sentence.Cursor, k Kind) (name string, end int) {
	end = -1
	if p.Done() {
		return
	}
	want := head{k, p.Sentence.Text[p.At]}
	for i, h := range sc.heads {
		if h != want {
			continue
		}
		if to := p.Is(sc.Order[i]); to > end {
			name, end = sc.Order[i], to
		}
	}
	return
}

// Names lists what of a kind may be said here: the scope's own names, those above it, and those
// of other drawings with the drawing's name before.
func (sc *Scope) Names(k Kind) []string {
	key := nameKey{sc, k}
	if got, ok := sc.Context.nameLists[key]; ok {
		return got
	}
	var out []string
	for s := sc; s != nil; s = s.up {
		for _, n := range s.Order {
			if s.Definitions[n].Kind == k {
				out = append(out, n)
			}
		}
	}
	out = append(out, sc.Context.qualified(k)...)
	sc.Context.nameLists[key] = out
	return out
}

// qualified lists the names of a kind in all drawings, each with its drawing's name before it.
func (e *Context) qualified(k Kind) []string {
	key := nameKey{nil, k}
	out, ok := e.nameLists[key]
	if ok {
		return out
	}
	for _, sc := range e.Scopes {
		for _, n := range sc.Order {
			if sc.Definitions[n].Kind == k {
				out = append(out, sc.Name+" "+n)
			}
		}
	}
	e.nameLists[key] = out
	return out
}

type nameKey struct {
	sc *Scope
	k  Kind
}

// Find gives the definition of a name from names. A measure "neck" stays one beside an edge "neck".
func (sc *Scope) Find(name string, k Kind) *Definition {
	d := sc.named(name, k)
	if d != nil {
		d.Used = true
	}
	return d
}

func (sc *Scope) named(name string, k Kind) *Definition {
	for s := sc; s != nil; s = s.up {
		if d, ok := s.Definitions[name]; ok && d.Kind == k {
			return d
		}
	}
	for _, other := range sc.Context.Scopes {
		if rest, ok := strings.CutPrefix(name, other.Name+" "); ok {
			if d, ok := other.Definitions[rest]; ok && d.Kind == k {
				return d
			}
		}
	}
	return nil
}
