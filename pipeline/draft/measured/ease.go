package measured

import (
	"fmt"
	"math"
	"regexp"
	"strings"

	"tracewheel/pipeline/pattern"
)

// girthFigure is a promise and what came of it, in the draft's unit.
type girthFigure struct {
	name           string
	finished, body float64
	promise        string
	kept           bool
}

// notion is what is bought beside the cloth, in the draft's unit.
type notion struct {
	name  string
	count int
	each  float64
}

// listNotions reads what is bought beside the cloth: "2*length of front neck + 3" is a length, "3 of
// 2 1/2" so many of one, "5 pieces" a number alone.
func (e *sewing) listNotions() {
	en, ok := e.secs["notions"]
	if !ok {
		return
	}
	for _, x := range e.entries(en.node) {
		if x.s == nil {
			e.fault(x.keyNode, quote(x.key)+" wants a length or a number", "say 2*length of front neck + 3, 3 of 2 1/2, or 5 pieces")
			continue
		}
		e.try(func() {
			p := newParser(x.s, e.top)
			n := notion{name: x.key, count: 1, each: p.sum()}
			if p.take("pieces") {
				n.count, n.each = p.wholeNumber(n.each), 0
				p.end()
				e.notions = append(e.notions, n)
				return
			}
			if p.take("of") {
				n.count = p.wholeNumber(n.each)
				n.each = p.sum()
			}
			if n.each <= 0 {
				p.fail(0, quote(x.key)+" comes to "+num(n.each), "a length is more than 0")
			}
			p.end()
			e.notions = append(e.notions, n)
		})
	}
}

func (p *parser) wholeNumber(v float64) int {
	if v != math.Trunc(v) || v < 1 || v > 999 {
		p.fail(0, num(v)+" pieces cannot be bought", "say a whole number")
	}
	return int(v)
}

// bareRange is a range as it is often written, which reads as a subtraction.
var bareRange = regexp.MustCompile(`^[0-9][0-9 ./½¼¾]*-[0-9 ./½¼¾]+$`)

// promise reads "16", "at least 8", "at most 4" or "0 to 3/4" as bounds.
func (p *parser) promise() (lo, hi float64) {
	const slack = 0.5 // mm: a promise of one figure is kept within half a millimetre
	u := p.sc.eng.unitMM
	switch p.takeAny("at least", "at most") {
	case "at least":
		return p.sum(), math.Inf(1)
	case "at most":
		return math.Inf(-1), p.sum()
	}
	p.space()
	at := p.i
	lo = p.sum()
	if said := strings.TrimSpace(string(p.s.text[at:p.i])); lo < 0 && bareRange.MatchString(said) {
		p.fail(at, quote(said)+" is a subtraction and comes to "+num(lo), "for a range say "+strings.Replace(said, "-", " to ", 1))
	}
	if p.take("to") {
		return lo, p.sum()
	}
	return lo - slack/u, lo + slack/u
}

// proveEase measures what was promised: finished girths over the body, what must go over what, and
// the bodies for which the style holds.
func (e *sewing) proveEase() {
	if en, ok := e.secs["ease"]; ok {
		for _, x := range e.entries(en.node) {
			if x.s == nil {
				e.fault(x.keyNode, quote(x.key)+" wants a sentence", "say the ease, then finished and how it is measured")
				continue
			}
			e.try(func() { e.ease(x) })
		}
	}
	if en, ok := e.secs["must"]; ok {
		for _, s := range e.list(en.node) {
			e.try(func() { e.must(s) })
		}
	}
	if en, ok := e.secs["holds for"]; ok {
		for _, x := range e.entries(en.node) {
			if x.s != nil {
				e.try(func() { e.holds(x) })
			}
		}
	}
}

func (e *sewing) ease(x entry) {
	k := newParser(newKeySentence(x, e.doc), e.top)
	body := k.takeDef(isNumber).n
	k.end()
	p := newParser(x.s, e.top)
	lo, hi := p.promise()
	said := string(x.s.text[:p.i])
	p.sign(',')
	if p.is("finished") < 0 {
		p.fail(p.i, "how the finished girth is measured is not said", "say "+strings.TrimSpace(said)+", finished, and then the sum of its widths")
	}
	p.want("finished", "")
	fin := p.sum()
	p.end()
	ease := fin - body
	g := girthFigure{x.key, fin, body, said, ease >= lo-1e-9 && ease <= hi+1e-9}
	e.girths = append(e.girths, g)
	if g.kept {
		return
	}
	e.note(x.s, pattern.RuleEaseNotKept, pattern.Error,
		fmt.Sprintf("the ease at the %s is %s and %s was promised: finished %s, body %s", x.key, e.say(ease), said, e.say(fin), e.say(body)),
		"change the width at that level, or the promise")
}

// must reads "A goes over B", "A at least B", "A at most B" and "A is B".
func (e *sewing) must(s *sentence) {
	p := newParser(s, e.top)
	if p.is("goes") >= 0 {
		p.fail(p.i, "what goes over it is not said", "begin with the length of the opening: 2*length of front neck + 2*slit goes over head")
	}
	a := p.sum()
	from := p.i
	verb := p.takeAny("goes over", "at least", "at most", "is")
	if verb == "" {
		p.fail(p.i, p.seen()+" compares nothing", "say goes over, at least, at most or is")
	}
	what := strings.TrimSpace(string(s.text[:from]))
	if p.is("the") >= 0 && p.sc.find("the", isNumber) == nil {
		p.take("the")
	}
	at := p.i
	b := p.sum()
	other := strings.TrimSpace(string(s.text[at:p.i]))
	within := 0.1 / e.unitMM
	if p.sign(',') {
		p.want("within", "")
		within = p.sum()
	}
	p.end()
	ok := map[string]bool{"goes over": a >= b-1e-9, "at least": a >= b-1e-9, "at most": a <= b+1e-9, "is": math.Abs(a-b) <= within}[verb]
	e.girths = append(e.girths, girthFigure{what + " " + verb + " " + other, a, b, verb, ok})
	if ok {
		return
	}
	text := fmt.Sprintf("%s is %s and must be %s%s (%s): %s off", what, e.say(a), map[string]string{"at least": "at least ", "at most": "at most ", "is": ""}[verb], other, e.say(b), e.say(math.Abs(a-b)))
	if verb == "goes over" {
		text = fmt.Sprintf("it does not go on: %s is %s and must go over %s (%s), %s more", what, e.say(a), other, e.say(b), e.say(b-a))
	}
	e.note(s, pattern.RuleEaseNotKept, pattern.Error, text, "change what is measured there, or the demand")
}

func (e *sewing) holds(x entry) {
	k := newParser(newKeySentence(x, e.doc), e.top)
	v := k.takeDef(isNumber).n
	p := newParser(x.s, e.top)
	lo, hi := p.promise()
	p.end()
	if v < lo || v > hi {
		e.note(x.s, pattern.RuleEaseNotKept, pattern.Error,
			fmt.Sprintf("this style holds for a %s of %s; the body has %s", x.key, string(x.s.text), e.say(v)), "take another style, or draft it anew for this body")
	}
}
