package drafting

import (
	"sort"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sentence"
)

// Parser reads one sentence from left to right and works it out.
type Parser struct {
	sentence.Cursor
	Scope *Scope // holds the names that may stand where a value is wanted
}

func NewParser(s *sentence.Sentence, sc *Scope) *Parser {
	return &Parser{sentence.Cursor{Sentence: s}, sc}
}

// End refuses what stands behind the end of what was understood.
func (p *Parser) End() {
	if !p.Done() {
		at, seen := p.At, p.Seen()
		p.Fail(at, "this is not understood: "+seen, p.leftOver())
	}
}

// kind is what a name stands for.
type kind int

const (
	NumberKind kind = iota
	PointKind
	EdgeKind
)

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
	state    int // 0 untouched, 1 being worked out, 2 done, 3 refused
	Number   float64
	add      float64 // what fittings changed of a number
	Used     bool    // another sentence asked for it, or its own holds it within bounds
	Point    orb.Point
	Curve    curve.Curve
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

// take reads a name of a kind and works it out.
func (p *Parser) TakeDefinition(k kind) *Definition {
	from := p.At
	p.Space()
	at := p.At
	name, ok := p.Name(p.Scope.Names(k))
	if !ok {
		p.At = from
		p.unknown(at, k)
	}
	d := p.Scope.Find(name, k)
	d.work(p, at)
	return d
}

// unknown refuses what should have been a name, with the nearest right one.
func (p *Parser) unknown(at int, k kind) {
	known := p.Scope.Names(k)
	said := p.Phrase()
	p.otherKind(at, k)
	if o := sentence.OtherWord(p.Word(), functions); k == NumberKind && o != "" {
		p.Fail(at, sentence.Quote(p.Word())+" is no measure or number known here", "did you mean "+sentence.Quote(o)+"?")
	}
	if said == "" {
		p.Fail(at, k.article()+" is wanted here, not "+p.Seen(), "")
	}
	short := append([]string(nil), known...)
	sort.SliceStable(short, func(i, j int) bool { return len(short[i]) < len(short[j]) })
	words := strings.Fields(said)
	for n := len(words); n > 0; n-- {
		try := strings.Join(words[:n], " ")
		hint := sentence.Nearest(try, short)
		if strings.HasPrefix(hint, "did you") || n == 1 {
			if hint == "" {
				hint = "nothing of the kind is known yet"
			}
			if k == NumberKind && len(words) <= 3 && !strings.HasPrefix(hint, "did you") {
				try = said // a measure's name may be several words
			}
			if k == PointKind && strings.HasPrefix(hint, "known") && strings.Contains(hint, " "+try) {
				hint += "; trace: and a drawing's name gives this one all of its points"
			}
			p.Fail(at, sentence.Quote(try)+" is no "+wordFor(k)+" known here", hint)
		}
	}
}

// otherKind refuses a name that is known as something else. Where its own sentence is refused,
// nothing more is said: it was not understood, so its kind is not known either.
func (p *Parser) otherKind(at int, k kind) {
	for _, o := range []kind{NumberKind, PointKind, EdgeKind} {
		if o == k {
			continue
		}
		from := p.At
		name, ok := p.Name(p.Scope.Names(o))
		p.At = from
		if !ok {
			continue
		}
		if d := p.Scope.Find(name, o); d.state != 1 { // else it is this very sentence
			d.work(p, at)
		}
		p.Fail(at, sentence.Quote(name)+" is "+o.article()+", and "+k.article()+" is wanted here", p.asKind(name, k, o))
	}
}

func wordFor(k kind) string {
	if k == NumberKind {
		return "measure or number"
	}
	return k.String()
}

// work evaluates a definition once; what leads back to itself is refused where it was asked for.
func (d *Definition) work(asker *Parser, at int) {
	switch d.state {
	case 2:
		return
	case 3:
		panic(sentence.Blocked{})
	case 1:
		asker.Fail(at, sentence.Quote(d.name)+" leads back to itself: "+d.circle(), "tell one of them without the other")
	}
	d.state = 1
	e := d.sc.Draft
	e.busy = append(e.busy, d)
	if e.trials > 0 {
		e.begun = append(e.begun, d)
	}
	defer func() {
		e.busy = e.busy[:len(e.busy)-1]
		if r := recover(); r != nil {
			d.state = 3
			e.caught(r)
			panic(sentence.Blocked{})
		}
		d.state = 2
	}()
	p := NewParser(d.Sentence, d.sc)
	switch d.Kind {
	case PointKind:
		d.Point = p.pointSentence()
		sane(p, d.Point[0], d.Point[1])
	case EdgeKind:
		d.Curve = p.curveSentence()
	default:
		if p.Take("between") {
			d.Number = p.solved(d) + d.add
		} else {
			d.Number = p.Sum() + d.add
		}
		sane(p, d.Number)
		p.bounds(d)
	}
	p.End()
}

// circle tells through what a definition leads back to itself; where that goes through more than
// one drawing, each name has its drawing before it.
func (d *Definition) circle() string {
	chain := d.sc.Draft.busy
	for len(chain) > 0 && chain[0] != d {
		chain = chain[1:]
	}
	several := false
	for _, c := range chain {
		several = several || c.sc != d.sc
	}
	var names []string
	for _, c := range append(chain[:len(chain):len(chain)], d) {
		n := c.name
		if several && c.sc.Name != "" {
			n = c.sc.Name + " " + n
		}
		names = append(names, n)
	}
	return strings.Join(names, " needs ")
}

// bounds reads what a number must be: "…, more than 0", "…, at least 3", "…, at most 12".
func (p *Parser) bounds(d *Definition) {
	for p.Sign(',') {
		word := p.TakeAny("more than", "less than", "at least", "at most")
		if word == "" {
			p.Fail(p.At, p.Seen()+" is not understood", "say more than, less than, at least or at most")
		}
		b := p.Sum()
		d.Used = true
		if ok := map[string]bool{"more than": d.Number > b, "less than": d.Number < b, "at least": d.Number >= b, "at most": d.Number <= b}[word]; !ok {
			p.Fail(0, sentence.Quote(d.name)+" is "+sentence.FormatNumber(d.Number)+" and must be "+word+" "+sentence.FormatNumber(b), "look at the measures from which it comes")
		}
	}
}

func sane(p *Parser, vs ...float64) {
	for _, v := range vs {
		if !(v > -1e7 && v < 1e7) {
			p.Fail(0, "this gives no usable number", "")
		}
	}
}

func (p *Parser) Point() orb.Point   { return p.TakeDefinition(PointKind).Point }
func (p *Parser) curve() curve.Curve { return p.TakeDefinition(EdgeKind).Curve }
