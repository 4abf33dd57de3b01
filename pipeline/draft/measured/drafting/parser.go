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

// NewParser begins at the first letter of a sentence; values in it are looked up in sc.
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

// TakeDefinition reads a name of a kind and works it out.
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

// Point reads the name of a point and gives where it lies.
func (p *Parser) Point() orb.Point { return p.TakeDefinition(PointKind).Point }

func (p *Parser) curve() curve.Curve { return p.TakeDefinition(EdgeKind).Curve }
