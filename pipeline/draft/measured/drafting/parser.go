package drafting

import (
	"sort"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sentence"
)

// Parts of a sentence's tree: what they come to is worked out when they are called, as often as wanted.
// A part that cannot be worked out refuses its sentence (Parser.Refuse) and gives nothing.
type (
	Number func() float64
	Point  func() orb.Point
	Edge   func() curve.Curve
)

// Use is a name that stands in a sentence, from one of its letters up to another.
type Use struct {
	*Definition
	From, To int
}

// Parser reads one sentence from left to right into a tree, whose parts go on to know their place by it.
// A slip of the pen panics with sentence.Stop, which Draft.Try keeps.
type Parser struct {
	sentence.Cursor
	Scope *Scope // holds the names that may stand where a value is wanted
	Uses  []Use  // the names that were read, in their order
}

// NewParser begins at the first letter of a sentence; values in it are looked up in sc.
func NewParser(s *sentence.Sentence, sc *Scope) *Parser {
	return &Parser{Cursor: sentence.Cursor{Sentence: s}, Scope: sc}
}

// Refuse keeps a fault of the sentence that is being worked out, at rune i. Only its first counts: what
// comes behind works with what could not be worked out.
func (p *Parser) Refuse(i int, text, mend string) { p.Scope.Draft.refuse(p.Fault(i, text, mend)) }

// stuck tells whether the sentence that is being worked out is refused.
func (p *Parser) stuck() bool { return p.Scope.Draft.stuck }

// End refuses what stands behind the end of what was understood.
func (p *Parser) End() {
	if !p.Done() {
		at, seen := p.At, p.Seen()
		p.Fail(at, "this is not understood: "+seen, p.leftOver())
	}
}

// Definition reads the name of a kind.
func (p *Parser) Definition(k kind) *Definition {
	from := p.At
	p.Space()
	at := p.At
	name, ok := p.Name(p.Scope.Names(k))
	if !ok {
		p.At = from
		p.unknown(at, k)
	}
	return p.use(name, k, at)
}

// use enters a name that was read from rune at.
func (p *Parser) use(name string, k kind, at int) *Definition {
	d := p.Scope.Find(name, k)
	p.Uses = append(p.Uses, Use{d, at, p.At})
	return d
}

// value reads the name of a kind and gives what works it out.
func (p *Parser) value(k kind) (d *Definition, work func()) {
	d = p.Definition(k)
	at := p.Uses[len(p.Uses)-1].From
	return d, func() { d.work(p, at) }
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
		if !p.Scope.Find(name, o).read() {
			panic(sentence.Blocked{})
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

// Point reads the name of a point.
func (p *Parser) Point() Point {
	d, work := p.value(PointKind)
	return func() orb.Point { work(); return d.Point }
}

// Edge reads the name of an edge.
func (p *Parser) Edge() Edge {
	d, work := p.value(EdgeKind)
	return func() curve.Curve { work(); return d.Curve }
}

// Now is what a part comes to, worked out while its sentence is being read.
func Now[T any](p *Parser, part func() T) T {
	e := p.Scope.Draft
	var v T
	if !e.Try(func() { v = part() }) {
		panic(sentence.Blocked{})
	}
	return v
}
