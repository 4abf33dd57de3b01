package tree

import (
	"fmt"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sentence"
)

// Definition is one named thing of a draft: told once, read once, worked out when it is first wanted.
type Definition struct {
	name     string
	Sentence *sentence.Sentence
	Line     int
	Column   int
	Kind     Kind
	scope    *Scope
	state    state // of working it out
	rests    int   // the innermost trial on whose number it rests; 0 for none
	Number   float64
	Add      float64 // what fittings changed of a number
	Measure  string  // of the body, its name as taken; empty for all else
	Unit     string  // of Number, said beside it where the card is in another unit; else empty
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

	// Traced is of a definition that a drawing takes over from another: the sentence that says so, and what is told there.
	traced *sentence.Sentence
	told   *Definition
}

// state is how far a definition or an outline is.
type state int

const (
	untouched state = iota
	working
	worked
	refused
)

// read makes the sentence's tree, once. It keeps the fault of one that cannot be read and gives false.
func (d *Definition) read() bool {
	if d.reading == untouched {
		d.reading = working // a sentence may name itself
		if !d.scope.Context.try(d.readSentence, d.moved) {
			d.reading = refused
		}
	}
	return d.reading != refused
}

// ownFault is a fault of a definition that is sound where it was told, and only fails in the drawing that traces it: its place
// is the trace.
func (d *Definition) ownFault(f sentence.Fault, sound bool) sentence.Fault {
	if d.traced == nil || !sound {
		return f
	}
	f.Text = fmt.Sprintf("the %s %s of %s, traced from line %d: %s", d.Kind, sentence.Quote(d.name), sentence.Quote(d.scope.Name), f.Line, f.Text)
	f.File, f.Line, f.Column = d.traced.File, d.traced.Line, d.traced.Column
	return f
}

// moved brings a slip of the pen to its own place.
func (d *Definition) moved(f sentence.Fault) sentence.Fault {
	return d.ownFault(f, d.told != nil && d.told.reading != refused && d.told.reading != untouched)
}

func (d *Definition) readSentence() {
	p := NewParser(d.Sentence, d.scope)
	d.parser, p.draws, p.tells = p, d.scope, d
	switch d.Kind {
	case PointKind:
		d.point = p.pointSentence()
	case EdgeKind:
		d.edge = p.curveSentence()
	default:
		if p.Take("between") {
			d.number = p.sought(d)
		} else {
			d.number = p.Sum()
		}
		p.bounds(d)
	}
	p.End()
}

// work works a definition out once; one that leads back to itself is refused where asker asked for it.
func (d *Definition) work(asker *Parser, at int) {
	e := d.scope.Context
	switch {
	case e.stuck:
		return
	case d.state == worked:
		e.rests = max(e.rests, d.rests)
		return
	case d.state == working:
		asker.Refuse(at, sentence.Quote(d.name)+" leads back to itself: "+d.circle(), "tell one of them without the other")
		return
	case d.state == refused || !d.read() || e.GivenUp():
		e.stuck = true
		return
	}
	d.state = working
	e.busy = append(e.busy, d)
	if e.trials > 0 {
		e.begun = append(e.begun, d)
	}
	outer, said := e.rests, len(e.Findings)+len(e.Truings)
	e.rests = 0
	switch d.Kind {
	case PointKind:
		d.Point = d.point()
		d.sane(d.Point[0], d.Point[1])
	case EdgeKind:
		d.Curve = d.edge()
	default:
		d.Number = d.number() + d.Add
		d.sane(d.Number)
		for _, b := range d.within {
			b(d.Number)
		}
	}
	e.busy = e.busy[:len(e.busy)-1]
	d.state = worked
	if e.stuck {
		d.state = refused
	}
	if e.stuck || len(e.Findings)+len(e.Truings) > said {
		e.Rest() // what a trial says is not told: it is worked out again
	}
	d.rests, e.rests = e.rests, max(outer, e.rests)
}

// circle tells through what a definition leads back to itself; where that goes through more than
// one drawing, each name has its drawing before it.
func (d *Definition) circle() string {
	chain := d.scope.Context.busy
	for len(chain) > 0 && chain[0] != d {
		chain = chain[1:]
	}
	several := false
	for _, c := range chain {
		several = several || c.scope != d.scope
	}
	var names []string
	for _, c := range append(chain[:len(chain):len(chain)], d) {
		n := c.name
		if several && c.scope.Name != "" {
			n = c.scope.Name + " " + n
		}
		names = append(names, n)
	}
	return strings.Join(names, " needs ")
}

// holds tells whether a number keeps to a bound.
var holds = map[string]func(v, bound float64) bool{
	"more than": func(v, bound float64) bool { return v > bound }, "less than": func(v, bound float64) bool { return v < bound },
	"at least": func(v, bound float64) bool { return v >= bound }, "at most": func(v, bound float64) bool { return v <= bound },
}

// bounds reads what a number must be: "…, more than 0", "…, at least 3", "…, at most 12".
func (p *Parser) bounds(d *Definition) {
	for p.Sign(',') {
		word := p.TakeAny("more than", "less than", "at least", "at most")
		if word == "" {
			p.Fail(p.At, p.Seen()+" is not understood", "say more than, less than, at least or at most")
		}
		bound := p.Sum()
		d.Used = true
		d.within = append(d.within, func(v float64) {
			if b := bound(); !holds[word](v, b) {
				p.Unfit(0, sentence.Quote(d.name)+" is "+p.Say(v)+" and must be "+word+" "+p.Say(b), "look at the measures from which it comes")
			}
		})
	}
}

// sane refuses what is no number, or out of reach of any draft.
func (d *Definition) sane(vs ...float64) {
	for _, v := range vs {
		if !(v > -1e7 && v < 1e7) {
			d.parser.Refuse(0, "this gives no usable number", "")
		}
	}
}

// Name is what it is called in its drawing.
func (d *Definition) Name() string { return d.name }

// Names tells whether its sentence names another itself; false where it was not read.
func (d *Definition) Names(other *Definition) bool { return d.parser != nil && d.parser.Names(other) }

// measuresBehind lists the measures that feed what is named, in the order in which they are met.
func measuresBehind(uses []Use) []*Definition {
	var out []*Definition
	seen := map[*Definition]bool{}
	var visit func(uses []Use)
	visit = func(uses []Use) {
		for _, u := range uses {
			switch d := u.Definition; {
			case seen[d]:
			case d.Measure != "":
				out = append(out, d)
			case d.parser != nil:
				seen[d] = true
				visit(d.parser.Uses)
			}
			seen[u.Definition] = true
		}
	}
	visit(uses)
	return out
}

// Drawn is an edge as drawn, before fittings; false where it is refused.
func (d *Definition) Drawn(asker *Parser) (curve.Curve, bool) {
	d.work(asker, 0)
	return d.Curve, !d.scope.Context.stuck
}

// Placed is a point as drawn, before fittings; false where it is refused.
func (d *Definition) Placed(asker *Parser) (orb.Point, bool) {
	d.work(asker, 0)
	return d.Point, !d.scope.Context.stuck
}
