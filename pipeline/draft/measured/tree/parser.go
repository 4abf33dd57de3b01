package tree

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/curve"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
)

// Parts of a sentence's tree: their values are worked out when they are called, as often as wanted.
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
// A slip of the pen ends its reading, and Context.Try keeps it.
type Parser struct {
	sentence.Cursor
	Scope *Scope      // holds the names that may stand where a value is wanted
	Uses  []Use       // the names that were read, in their order
	draws *Scope      // whose points, edges or numbers the sentence tells, nil for one of pieces and seams
	tells *Definition // what it tells there, nil for the same
}

// Names tells whether the sentence, as far as it was read, names something itself.
func (p *Parser) Names(d *Definition) bool {
	return slices.ContainsFunc(p.Uses, func(u Use) bool { return u.Definition == d })
}

// NewParser begins at the first letter of a sentence; values in it are looked up in sc.
func NewParser(s *sentence.Sentence, sc *Scope) *Parser {
	return &Parser{Cursor: sentence.Cursor{Sentence: s}, Scope: sc}
}

// Refuse keeps a fault of the sentence that is being worked out, at rune i. Only its first counts: what
// comes behind works with what could not be worked out.
func (p *Parser) Refuse(i int, text, mend string) {
	p.Scope.Context.refuse(p.own(p.impossible(i, text, mend)))
}

// impossible is a fault of what a sentence says, not of how it is written.
func (p *Parser) impossible(i int, text, mend string) sentence.Fault {
	f := p.Fault(i, text, mend)
	f.Rule = pattern.RuleImpossible
	return f
}

// own is a fault with its place, where the sentence is one that another drawing traces.
func (p *Parser) own(f sentence.Fault) sentence.Fault {
	if p.tells == nil || p.tells.told == nil {
		return f
	}
	return p.tells.ownFault(f, p.tells.told.state == worked)
}

// stuck tells whether the sentence that is being worked out is refused.
func (p *Parser) stuck() bool { return p.Scope.Context.stuck }

// measureNouns end the names of measures: "hip depth" is one, and where it is not given "hip" may be.
var measureNouns = []string{"depth", "girth", "length", "width", "height", "level", "separation", "apart", "distance", "radius", "round"}

// notGiven refuses, where a sentence stops at rune i, a measure of two words of which only the first is known.
func (p *Parser) notGiven(i int) {
	if len(p.Uses) == 0 {
		return
	}
	u := p.Uses[len(p.Uses)-1]
	if u.Kind != NumberKind || i < u.To || i > len(p.Sentence.Text) || strings.TrimSpace(string(p.Sentence.Text[u.To:i])) != "" {
		return
	}
	w := strings.FieldsFunc(string(p.Sentence.Text[i:]), func(r rune) bool { return !unicode.IsLetter(r) })
	if len(w) > 0 && slices.Contains(measureNouns, w[0]) && strings.HasPrefix(strings.TrimSpace(string(p.Sentence.Text[i:])), w[0]) {
		said := u.Name() + " " + w[0]
		p.Cursor.Fail(u.From, sentence.Quote(said)+" is not given", "take the measure and give it, or say under numbers what it comes of")
	}
	known := p.Scope.Names(NumberKind)
	if len(w) == 0 || !p.Scope.Context.MayCompare(len(known)) {
		return
	}
	for _, name := range known { // "neck widht", where "neck" is one and "neck width" is another
		if said := u.Name() + " " + w[0]; strings.HasPrefix(name, u.Name()+" ") && sentence.OneSlip(said, name) {
			p.Cursor.Fail(u.From, sentence.Quote(said)+" is no "+wordFor(NumberKind)+" known here", "did you mean "+sentence.Quote(name)+"?")
		}
	}
}

// Fail refuses the sentence at rune i.
func (p *Parser) Fail(i int, text, mend string) {
	p.notGiven(i)
	p.Cursor.Fail(i, text, mend)
}

// Want takes the words or refuses.
func (p *Parser) Want(words, forWhat string) {
	if !p.Take(words) {
		p.notGiven(p.At)
		p.Cursor.Want(words, forWhat)
	}
}

// End refuses what stands behind the end of what was understood.
func (p *Parser) End() {
	if !p.Done() {
		at, seen := p.At, p.Seen()
		p.Fail(at, "this is not understood: "+seen, p.leftOver())
	}
}

// Definition reads the name of a kind.
func (p *Parser) Definition(k Kind) *Definition {
	from := p.At
	p.Space()
	at := p.At
	name, ok := p.Named(k)
	if !ok {
		p.At = from
		p.unknown(at, k)
	}
	return p.use(name, k, at)
}

// use enters a name that was read from rune at.
func (p *Parser) use(name string, k Kind, at int) *Definition {
	d := p.Scope.Find(name, k)
	if p.Uses == nil {
		p.Uses = make([]Use, 0, 4) // most sentences name fewer
	}
	p.Uses = append(p.Uses, Use{d, at, p.At})
	return d
}

// Named takes the longest name of a kind that comes next, of those that Scope.Names lists.
func (p *Parser) Named(k Kind) (string, bool) {
	best, end := "", -1
	for sc := p.Scope; sc != nil; sc = sc.up {
		if n, to := sc.longest(&p.Cursor, k); to > end {
			best, end = n, to
		}
	}
	from := p.At
	for _, sc := range p.Scope.Context.Scopes {
		if i := p.Is(sc.Name); i >= 0 && unicode.IsSpace(p.RuneAt(i)) {
			p.At = i
			if n, to := sc.longest(&p.Cursor, k); to > end {
				best, end = sc.Name+" "+n, to
			}
			p.At = from
		}
	}
	if end < 0 {
		return "", false
	}
	p.At = end
	return best, true
}

// used reads the name of a kind.
func (p *Parser) used(k Kind) Use {
	p.Definition(k)
	return p.Uses[len(p.Uses)-1]
}

// Number reads the name of a number.
func (p *Parser) Number() Number {
	u := p.used(NumberKind)
	return func() float64 { u.work(p, u.From); return u.Number }
}

// Point reads the name of a point.
func (p *Parser) Point() Point {
	u := p.used(PointKind)
	return func() orb.Point { u.work(p, u.From); return p.point(u.Definition) }
}

// Edge reads the name of an edge.
func (p *Parser) Edge() Edge {
	u := p.used(EdgeKind)
	return func() curve.Curve { u.work(p, u.From); return p.edge(u.Definition) }
}

// point is what a sentence meets of a named point.
func (p *Parser) point(d *Definition) orb.Point {
	if d.scope.Altered == nil || p.draws != nil || d.scope.Context.stuck {
		return d.Point
	}
	return d.scope.Altered.Point(d.Point)
}

// edge is what a sentence meets of a named edge.
func (p *Parser) edge(d *Definition) curve.Curve {
	if d.scope.Altered == nil || p.draws == d.scope || d.scope.Context.stuck {
		return d.Curve
	}
	return d.scope.Altered.Edge(d)
}

// Unfit refuses a sentence that is read, and whose numbers cannot be drawn. Where they come of measures, it says
// of which, and that it is not for this body; else it is a slip in the draft.
func (p *Parser) Unfit(i int, text, mend string) {
	p.Scope.Context.refuse(p.own(p.unfit(i, text, mend, p.Uses)))
}

// comesOf stands before the measures of which an impossible drawing comes.
const comesOf = "; it comes of "

func (p *Parser) unfit(i int, text, mend string, uses []Use) sentence.Fault {
	of := measuresBehind(uses)
	if len(of) == 0 {
		return p.impossible(i, text, mend)
	}
	f := p.Fault(i, text+comesOf+listed(of), cmp.Or(mend, "take these measures again, or draw the draft for another body"))
	f.Rule = pattern.RuleNotForBody
	return f
}

// listed writes the first few of some measures with their values in the draft's unit.
func listed(of []*Definition) string {
	const most = 4
	var words []string
	for _, d := range of[:min(most, len(of))] {
		words = append(words, strings.TrimSpace(d.Measure+" "+sentence.FormatNumber(d.Number)+" "+d.Unit))
	}
	if more := len(of) - most; more > 0 {
		return strings.Join(words, ", ") + fmt.Sprintf(" and %d more measures", more)
	}
	return pattern.AndList(words)
}

// compass are the ways that need no point, x out and y down.
var compass = map[string]orb.Point{"out": {1, 0}, "back": {-1, 0}, "up": {0, -1}, "down": {0, 1}}

// Say writes a length of the draft, see Context.Say.
func (p *Parser) Say(v float64) string { return p.Scope.Context.Say(v) }
