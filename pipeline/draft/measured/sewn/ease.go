package sewn

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

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

	twice bool // it is told as twice a half, so that the right half and the left one come together
	keeps func(g girthFigure) bool
	tell  func(g girthFigure) // notes what is wrong with it
	told  []string            // these notes
}

// prove judges a girth and notes what is wrong with it.
func (e *Sewing) prove(g girthFigure) girthFigure {
	from := len(e.Findings)
	g.Kept, g.told = g.keeps(g), nil
	g.tell(g)
	for _, f := range e.Findings[from:] {
		g.told = append(g.told, f.Message)
	}
	return g
}

// JoinSides proves anew what is told as twice a half of a garment whose sides differ: it is the right half and the left one.
func JoinSides(right, left *Sewing) {
	for i := range right.Girths {
		r, l := right.Girths[i], left.Girths[i]
		if !r.twice {
			continue
		}
		finished, body := (r.Finished+l.Finished)/2, (r.Body+l.Body)/2
		for _, e := range []*Sewing{right, left} {
			g := &e.Girths[i]
			e.Findings = slices.DeleteFunc(e.Findings, func(f pattern.Finding) bool { return slices.Contains(g.told, f.Message) })
			g.Finished, g.Body = finished, body
			*g = e.prove(*g)
		}
	}
}

// twiceSaid finds what is told of both halves.
var twiceSaid = regexp.MustCompile(`\b[24] ?\*|\btwice\b`)

// notion is what is bought beside the cloth, in the draft's unit.
type notion struct {
	Name  string
	Count int
	Each  float64
}

// readNotions reads what is bought beside the cloth: "2*length of front neck + 3" is a length, "3 of
// 2 1/2" so many of one, "5 pieces" a number alone.
func (e *Sewing) readNotions() {
	e.Each("notions", "a length or a number", "say 2*length of front neck + 3, 3 of 2 1/2, or 5 pieces", func(x sentence.Entry) { e.then(e.readNotion(x)) })
}

func (e *Sewing) readNotion(x sentence.Entry) func() {
	p := tree.NewParser(x.Sentence, e.Top)
	count, each := tree.Number(nil), p.Sum()
	if p.Take("pieces") {
		count, each = each, nil
	} else if p.Take("of") {
		count, each = each, p.Sum()
	}
	p.End()
	return func() {
		n := notion{Name: x.Key, Count: 1}
		if count != nil {
			v := count()
			if n.Count = int(v); v != math.Trunc(v) || v < 1 || v > 999 {
				p.Refuse(0, sentence.FormatNumber(v)+" pieces cannot be bought", "say a whole number")
			}
		}
		if each != nil {
			if n.Each = each(); n.Each <= 0 {
				p.Refuse(0, sentence.Quote(x.Key)+" comes to "+sentence.FormatNumber(n.Each), "a length is more than 0")
			}
		}
		if each != nil && count == nil && e.counted(x) {
			e.Note(x.Sentence, pattern.RuleReadAssumed, pattern.Warning, sentence.Quote(x.Key)+" is told as a length of "+e.WithUnit(n.Each), "say "+sentence.FormatNumber(n.Each)+" pieces if so many are bought; write the unit behind it, if the length is meant")
		}
		e.Notions = append(e.Notions, n)
	}
}

// countedNotion are notions of which a number is bought.
var countedNotion = regexp.MustCompile(`(?i)\b(buttons?|snaps?|press studs?|hooks?|eyes?|buckles?|toggles?|rivets?|beads?|eyelets?|zips|zippers)\b`)

// counted tells of a notion that is counted and yet told by a bare whole number, which is a length. A zip is bought by its length.
func (e *Sewing) counted(x sentence.Entry) bool {
	said := strings.TrimSpace(x.Node.Value)
	n, err := strconv.Atoi(said)
	return err == nil && countedNotion.MatchString(x.Key) && (!strings.HasPrefix(strings.ToLower(x.Key), "zip") || float64(n)*e.UnitMM < 50)
}

// bareRange is a range as it is often written, which reads as a subtraction.
var bareRange = regexp.MustCompile(`^[0-9][0-9 ./½¼¾]*-[0-9 ./½¼¾]+$`)

// readPromise reads "16", "at least 8", "at most 4" or "0 to 3/4" as bounds.
func readPromise(p *tree.Parser) func() (lo, hi float64) {
	switch p.TakeAny("at least", "at most") {
	case "at least":
		least := p.Sum()
		return func() (float64, float64) { return least(), math.Inf(1) }
	case "at most":
		most := p.Sum()
		return func() (float64, float64) { return math.Inf(-1), most() }
	}
	p.Space()
	at := p.At
	first := p.Sum()
	said := p.Said(at)
	second := tree.Number(nil)
	if p.Take("to") {
		second = p.Sum()
	}
	return func() (float64, float64) {
		lo := first()
		if lo < 0 && bareRange.MatchString(said) {
			p.Refuse(at, sentence.Quote(said)+" is a subtraction and comes to "+sentence.FormatNumber(lo), "for a range say "+strings.Replace(said, "-", " to ", 1))
		}
		if second != nil {
			return lo, second()
		}
		slack := 0.5 / p.Scope.Context.UnitMM // a promise of one figure is kept within half a millimetre
		return lo - slack, lo + slack
	}
}

// readEase reads what was promised: finished girths over the body, what must go over what, and
// the bodies for which the style holds.
func (e *Sewing) readEase() {
	e.Each("ease", "a sentence", "say the ease, then finished and how it is measured", func(x sentence.Entry) { e.then(e.readGirth(x)) })
	e.eachOf("must", e.readMust)
	e.Each("holds for", "a sentence", "say from what to what of the body: 80 to 110", func(x sentence.Entry) { e.then(e.readHolds(x)) })
}

// readKey reads the name of a number that stands as a key.
func (e *Sewing) readKey(x sentence.Entry) tree.Number {
	k := tree.NewParser(e.Document.Sentence(x.KeyNode), e.Top)
	v := k.Number()
	k.End()
	return v
}

// readGirth reads "16, finished 2*width of front at B"; the function it gives proves the ease.
func (e *Sewing) readGirth(x sentence.Entry) func() {
	body := e.readKey(x)
	p := tree.NewParser(x.Sentence, e.Top)
	promise := readPromise(p)
	said := string(x.Sentence.Text[:p.At])
	p.Sign(',')
	if p.Is("finished") < 0 {
		p.Fail(p.At, "how the finished girth is measured is not said", "say "+strings.TrimSpace(said)+", finished, and then the sum of its widths")
	}
	p.Want("finished", "")
	finished := p.Sum()
	p.End()
	return func() {
		g := girthFigure{Name: x.Key, Body: body(), Promise: said, twice: twiceSaid.MatchString(string(x.Sentence.Text))}
		lo, hi := promise()
		e.CutArmholes = nil
		if g.Finished = finished(); e.Blocked() {
			return
		}
		above := ""
		if girths[x.Key] {
			above = strings.Join(slices.Compact(e.CutArmholes), ", and ")
		}
		g.keeps = func(g girthFigure) bool { ease := g.Finished - g.Body; return ease >= lo-1e-9 && ease <= hi+1e-9 }
		g.tell = func(g girthFigure) { e.tellGirth(x, g, above) }
		e.Girths = append(e.Girths, e.prove(g))
	}
}

// tellGirth notes ease that is not kept, and what is measured above the underarm.
func (e *Sewing) tellGirth(x sentence.Entry, g girthFigure, above string) {
	const lower = "measure it at a level that lies no higher than the underarm"
	if g.Kept {
		if above != "" {
			e.Note(x.Sentence, pattern.RuleEaseNotKept, pattern.Warning, fmt.Sprintf("the ease at the %s is measured above the underarm: %s", x.Key, above), lower)
		}
		return
	}
	text, mend := fmt.Sprintf("the ease at the %s is %s, not %s as the draft says: finished %s, body %s", x.Key, e.WithUnit(g.Finished-g.Body), g.Promise, e.WithUnit(g.Finished), e.WithUnit(g.Body)),
		"change the width at that level, or what the draft says of it"
	if above != "" {
		text, mend = text+"; it is measured above the underarm: "+above, lower
	}
	e.Note(x.Sentence, pattern.RuleEaseNotKept, pattern.Error, text, mend)
}

// girths are the measures that go round the body below the arms: no width above the underarm is part of one.
var girths = map[string]bool{"bust": true, "bust girth": true, "chest": true, "under bust": true,
	"waist": true, "waist girth": true, "hip": true, "hip girth": true}

// readMust reads "A goes over B", "A at least B", "A at most B" and "A is B".
func (e *Sewing) readMust(s *sentence.Sentence) func() {
	p := tree.NewParser(s, e.Top)
	if p.Is("goes") >= 0 {
		p.Fail(p.At, "what goes over it is not said", "begin with the length of the opening: 2*length of front neck + 2*slit goes over head")
	}
	first := p.Sum()
	what := p.Said(0)
	verb := p.TakeAny("goes over", "at least", "at most", "is")
	if verb == "" {
		p.Fail(p.At, p.Seen()+" compares nothing", "say goes over, at least, at most or is")
	}
	if p.Is("the") >= 0 && p.Scope.Find("the", tree.NumberKind) == nil {
		p.Take("the")
	}
	at := p.At
	second := p.Sum()
	other := p.Said(at)
	within := tree.Number(func() float64 { return 0.1 / e.UnitMM })
	if p.Sign(',') {
		p.Want("within", "")
		within = p.Sum()
	}
	p.End()
	return func() {
		a, b, within := first(), second(), within()
		if e.Blocked() {
			return
		}
		g := girthFigure{Name: what + " " + verb + " " + other, Finished: a, Body: b, Promise: verb, twice: twiceSaid.MatchString(what)}
		g.keeps = func(g girthFigure) bool {
			a, b := g.Finished, g.Body
			return map[string]bool{"goes over": a >= b-1e-9, "at least": a >= b-1e-9, "at most": a <= b+1e-9, "is": math.Abs(a-b) <= within}[verb]
		}
		g.tell = func(g girthFigure) {
			if g.Kept {
				return
			}
			a, b := g.Finished, g.Body
			text := fmt.Sprintf("%s is %s and must be %s%s (%s): %s off", what, e.WithUnit(a), map[string]string{"at least": "at least ", "at most": "at most ", "is": ""}[verb], other, e.WithUnit(b), e.WithUnit(math.Abs(a-b)))
			if verb == "goes over" {
				text = fmt.Sprintf("it does not go on: %s is %s and must go over %s (%s), %s more", what, e.WithUnit(a), other, e.WithUnit(b), e.WithUnit(b-a))
			}
			e.Note(s, pattern.RuleEaseNotKept, pattern.Error, text, "change what is measured there, or the demand")
		}
		e.Girths = append(e.Girths, e.prove(g))
	}
}

// readHolds reads "bust: 80 to 110", the bodies for which the style holds.
func (e *Sewing) readHolds(x sentence.Entry) func() {
	body := e.readKey(x)
	p := tree.NewParser(x.Sentence, e.Top)
	promise := readPromise(p)
	p.End()
	return func() {
		v := body()
		if lo, hi := promise(); v < lo || v > hi {
			e.Note(x.Sentence, pattern.RuleEaseNotKept, pattern.Error,
				fmt.Sprintf("this style holds for a %s of %s; the body has %s", x.Key, string(x.Sentence.Text), e.WithUnit(v)), "take another style, or draft it anew for this body")
		}
	}
}
