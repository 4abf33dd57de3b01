package sewn

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	"tracewheel/pipeline/draft/measured/pieces"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/draft/measured/tree"
	"tracewheel/pipeline/pattern"
)

// girthFigure is a promise and what came of it, in the draft's unit.
type girthFigure struct {
	Name           string
	Finished, Body float64
	Promise        string
	Kept           bool
}

// notion is what is bought beside the cloth, in the draft's unit.
type notion struct {
	Name  string
	Count int
	Each  float64
}

// ListNotions reads what is bought beside the cloth: "2*length of front neck + 3" is a length, "3 of
// 2 1/2" so many of one, "5 pieces" a number alone.
func (e *Sewing) ListNotions() {
	en, ok := e.Sections["notions"]
	if !ok {
		return
	}
	for _, x := range e.Entries(en.Node) {
		if x.Sentence == nil {
			e.AddFault(x.KeyNode, sentence.Quote(x.Key)+" wants a length or a number", "say 2*length of front neck + 3, 3 of 2 1/2, or 5 pieces")
			continue
		}
		e.Try(func() {
			p := tree.NewParser(x.Sentence, e.Top)
			n := notion{Name: x.Key, Count: 1, Each: tree.Now(p, p.Sum())}
			if p.Take("pieces") {
				n.Count, n.Each = wholeNumber(p, n.Each), 0
				p.End()
				e.Notions = append(e.Notions, n)
				return
			}
			if p.Take("of") {
				n.Count = wholeNumber(p, n.Each)
				n.Each = tree.Now(p, p.Sum())
			}
			if n.Each <= 0 {
				p.Fail(0, sentence.Quote(x.Key)+" comes to "+sentence.FormatNumber(n.Each), "a length is more than 0")
			}
			p.End()
			e.Notions = append(e.Notions, n)
		})
	}
}

func wholeNumber(p *tree.Parser, v float64) int {
	if v != math.Trunc(v) || v < 1 || v > 999 {
		p.Fail(0, sentence.FormatNumber(v)+" pieces cannot be bought", "say a whole number")
	}
	return int(v)
}

// bareRange is a range as it is often written, which reads as a subtraction.
var bareRange = regexp.MustCompile(`^[0-9][0-9 ./½¼¾]*-[0-9 ./½¼¾]+$`)

// readPromise reads "16", "at least 8", "at most 4" or "0 to 3/4" as bounds.
func readPromise(p *tree.Parser) (lo, hi float64) {
	const slack = 0.5 // mm: a promise of one figure is kept within half a millimetre
	u := p.Scope.Context.UnitMM
	switch p.TakeAny("at least", "at most") {
	case "at least":
		return tree.Now(p, p.Sum()), math.Inf(1)
	case "at most":
		return math.Inf(-1), tree.Now(p, p.Sum())
	}
	p.Space()
	at := p.At
	lo = tree.Now(p, p.Sum())
	if said := p.Said(at); lo < 0 && bareRange.MatchString(said) {
		p.Fail(at, sentence.Quote(said)+" is a subtraction and comes to "+sentence.FormatNumber(lo), "for a range say "+strings.Replace(said, "-", " to ", 1))
	}
	if p.Take("to") {
		return lo, tree.Now(p, p.Sum())
	}
	return lo - slack/u, lo + slack/u
}

// ProveEase measures what was promised: finished girths over the body, what must go over what, and
// the bodies for which the style holds.
func (e *Sewing) ProveEase() {
	if en, ok := e.Sections["ease"]; ok {
		for _, x := range e.Entries(en.Node) {
			if x.Sentence == nil {
				e.AddFault(x.KeyNode, sentence.Quote(x.Key)+" wants a sentence", "say the ease, then finished and how it is measured")
				continue
			}
			e.Try(func() { e.ease(x) })
		}
	}
	if en, ok := e.Sections["must"]; ok {
		for _, s := range e.Sentences(en.Node) {
			e.Try(func() { e.must(s) })
		}
	}
	if en, ok := e.Sections["holds for"]; ok {
		for _, x := range e.Entries(en.Node) {
			if x.Sentence != nil {
				e.Try(func() { e.holds(x) })
			}
		}
	}
}

func (e *Sewing) ease(x sentence.Entry) {
	k := tree.NewParser(pieces.NewKeySentence(x, e.Document), e.Top)
	body := k.Definition(tree.NumberKind).Number
	k.End()
	p := tree.NewParser(x.Sentence, e.Top)
	lo, hi := readPromise(p)
	said := string(x.Sentence.Text[:p.At])
	p.Sign(',')
	if p.Is("finished") < 0 {
		p.Fail(p.At, "how the finished girth is measured is not said", "say "+strings.TrimSpace(said)+", finished, and then the sum of its widths")
	}
	p.Want("finished", "")
	e.CutArmholes = nil
	fin := tree.Now(p, p.Sum())
	p.End()
	above := ""
	if girths[x.Key] && len(e.CutArmholes) > 0 {
		above = strings.Join(slices.Compact(e.CutArmholes), ", and ")
	}
	ease := fin - body
	g := girthFigure{x.Key, fin, body, said, ease >= lo-1e-9 && ease <= hi+1e-9}
	e.Girths = append(e.Girths, g)
	const lower = "measure it at a level that lies no higher than the underarm"
	if g.Kept {
		if above != "" {
			e.Note(x.Sentence, pattern.RuleEaseNotKept, pattern.Warning, fmt.Sprintf("the ease at the %s is measured above the underarm: %s", x.Key, above), lower)
		}
		return
	}
	text, mend := fmt.Sprintf("the ease at the %s is %s, not %s as the draft says: finished %s, body %s", x.Key, e.WithUnit(ease), said, e.WithUnit(fin), e.WithUnit(body)),
		"change the width at that level, or what the draft says of it"
	if above != "" {
		text, mend = text+"; it is measured above the underarm: "+above, lower
	}
	e.Note(x.Sentence, pattern.RuleEaseNotKept, pattern.Error, text, mend)
}

// girths are the measures that go round the body below the arms: no width above the underarm is part of one.
var girths = map[string]bool{"bust": true, "bust girth": true, "chest": true, "under bust": true,
	"waist": true, "waist girth": true, "hip": true, "hip girth": true}

// must reads "A goes over B", "A at least B", "A at most B" and "A is B".
func (e *Sewing) must(s *sentence.Sentence) {
	p := tree.NewParser(s, e.Top)
	if p.Is("goes") >= 0 {
		p.Fail(p.At, "what goes over it is not said", "begin with the length of the opening: 2*length of front neck + 2*slit goes over head")
	}
	a := tree.Now(p, p.Sum())
	from := p.At
	verb := p.TakeAny("goes over", "at least", "at most", "is")
	if verb == "" {
		p.Fail(p.At, p.Seen()+" compares nothing", "say goes over, at least, at most or is")
	}
	what := strings.TrimSpace(string(s.Text[:from]))
	if p.Is("the") >= 0 && p.Scope.Find("the", tree.NumberKind) == nil {
		p.Take("the")
	}
	at := p.At
	b := tree.Now(p, p.Sum())
	other := strings.TrimSpace(string(s.Text[at:p.At]))
	within := 0.1 / e.UnitMM
	if p.Sign(',') {
		p.Want("within", "")
		within = tree.Now(p, p.Sum())
	}
	p.End()
	ok := map[string]bool{"goes over": a >= b-1e-9, "at least": a >= b-1e-9, "at most": a <= b+1e-9, "is": math.Abs(a-b) <= within}[verb]
	e.Girths = append(e.Girths, girthFigure{what + " " + verb + " " + other, a, b, verb, ok})
	if ok {
		return
	}
	text := fmt.Sprintf("%s is %s and must be %s%s (%s): %s off", what, e.WithUnit(a), map[string]string{"at least": "at least ", "at most": "at most ", "is": ""}[verb], other, e.WithUnit(b), e.WithUnit(math.Abs(a-b)))
	if verb == "goes over" {
		text = fmt.Sprintf("it does not go on: %s is %s and must go over %s (%s), %s more", what, e.WithUnit(a), other, e.WithUnit(b), e.WithUnit(b-a))
	}
	e.Note(s, pattern.RuleEaseNotKept, pattern.Error, text, "change what is measured there, or the demand")
}

func (e *Sewing) holds(x sentence.Entry) {
	k := tree.NewParser(pieces.NewKeySentence(x, e.Document), e.Top)
	v := k.Definition(tree.NumberKind).Number
	p := tree.NewParser(x.Sentence, e.Top)
	lo, hi := readPromise(p)
	p.End()
	if v < lo || v > hi {
		e.Note(x.Sentence, pattern.RuleEaseNotKept, pattern.Error,
			fmt.Sprintf("this style holds for a %s of %s; the body has %s", x.Key, string(x.Sentence.Text), e.WithUnit(v)), "take another style, or draft it anew for this body")
	}
}
