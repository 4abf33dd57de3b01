package drafting

import (
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sentence"
)

// kind is what a name stands for.
type kind int

const (
	NumberKind kind = iota // a measure or a number
	PointKind              // a point
	EdgeKind               // a line, arc or curve
)

// String is the word for it.
func (k kind) String() string { return [...]string{"number", "point", "edge"}[k] }

func (k kind) article() string {
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

// Definition is one named thing of a draft: told once, worked out when it is first wanted.
type Definition struct {
	name     string
	Sentence *sentence.Sentence
	Line     int
	Column   int
	Kind     kind
	sc       *Scope
	state    state // of working it out
	Number   float64
	add      float64 // what fittings changed of a number
	Used     bool    // another sentence asked for it, or its own holds it within bounds
	Point    orb.Point
	Curve    curve.Curve

	// What is read of the sentence.
	reading state
	parser  *Parser
	number  Number
	within  []func(v float64) // the bounds of a number
	point   Point
	edge    Edge
}

// Scope is where names are looked up: a drawing, or the draft as a whole above it.
type Scope struct {
	Draft       *Draft
	up          *Scope
	Name        string
	Order       []string
	Definitions map[string]*Definition
}

func newScope(e *Draft, up *Scope, name string) *Scope {
	return &Scope{Draft: e, up: up, Name: name, Definitions: map[string]*Definition{}}
}

func (sc *Scope) set(d *Definition) {
	if _, ok := sc.Definitions[d.name]; !ok {
		sc.Order = append(sc.Order, d.name)
	}
	sc.Definitions[d.name] = d
}

// kindOf classes a sentence by its first words.
func kindOf(s *sentence.Sentence) kind {
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

// Names lists what of a kind may be said here: the scope's own names, those above it, and those
// of other drawings with the drawing's name before.
func (sc *Scope) Names(k kind) []string {
	key := nameKey{sc, k}
	if got, ok := sc.Draft.nameLists[key]; ok {
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
	for _, dn := range sc.Draft.DrawingOrder {
		d := sc.Draft.Drawings[dn]
		for _, n := range d.Scope.Order {
			if d.Scope.Definitions[n].Kind == k {
				out = append(out, dn+" "+n)
			}
		}
	}
	sc.Draft.nameLists[key] = out
	return out
}

type nameKey struct {
	sc *Scope
	k  kind
}

// Find gives the definition of a name from names. A measure "neck" stays one beside an edge "neck".
func (sc *Scope) Find(name string, k kind) *Definition {
	d := sc.named(name, k)
	if d != nil {
		d.Used = true
	}
	return d
}

func (sc *Scope) named(name string, k kind) *Definition {
	for s := sc; s != nil; s = s.up {
		if d, ok := s.Definitions[name]; ok && d.Kind == k {
			return d
		}
	}
	for _, dn := range sc.Draft.DrawingOrder {
		if rest, ok := strings.CutPrefix(name, dn+" "); ok {
			if d, ok := sc.Draft.Drawings[dn].Scope.Definitions[rest]; ok && d.Kind == k {
				return d
			}
		}
	}
	return nil
}
