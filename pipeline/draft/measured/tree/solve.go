package tree

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/draft/measured/sentence"
	"tracewheel/pipeline/pattern"
)

// How a wanted number is sought: the range is looked through in steps, so that it does not matter where
// a drawing is impossible, and then halved.
const (
	solveSteps  = 24
	solveHalves = 50
)

// sought reads "between 8 and 20 so that length of sleeve cap is length of armhole + 3": the least number
// of that range for which both sides come to the same, by trying. What is drawn from the number is drawn
// for each trial. Where another number does it too, a note says so.
func (p *Parser) sought(d *Definition) Number {
	at := p.At
	lowest := p.Sum()
	p.Want("and", " and the greatest that it may be")
	greatest := p.Sum()
	p.Sign(',')
	p.Want("so that", " and what is to be reached by it")
	t := trial{p: p, d: d, from: p.At}
	t.got = p.Sum()
	p.Want("is", " and what it is to come to")
	t.wanted = p.Sum()
	return func() float64 {
		lo, hi := lowest(), greatest()
		if hi <= lo {
			p.Refuse(at, "nothing lies between "+sentence.FormatNumber(lo)+" and "+sentence.FormatNumber(hi), "say the smaller one first")
		}
		if p.stuck() {
			return 0
		}
		return t.between(lo, hi)
	}
}

// trial works a sentence's two sides out for a number that is only supposed.
type trial struct {
	p           *Parser
	d           *Definition
	from        int
	got, wanted Number
	bringBack   func()         // to what was worked out of drawings before the trials
	why         sentence.Fault // what made the last impossible trial so
	blocked     bool           // a trial needed what is refused already
}

// between looks the range through in steps. The rest of it is looked through too, unless this is a trial of
// another number that is sought, which would take its time again for each.
func (t *trial) between(lo, hi float64) float64 {
	var last, low, high *tried
	var met []float64
	t.bringBack = t.d.scope.Context.Keep()
	for k := range solveSteps + 1 {
		r := t.at(lo + (hi-lo)*float64(k)/solveSteps)
		if r == nil {
			last = nil
			continue
		}
		if low == nil {
			low = r
		}
		high = r
		if last != nil && last.off() != 0 && (last.off() < 0) != (r.off() < 0) || r.off() == 0 {
			x, ok := t.halve(last, r)
			switch {
			case ok:
				met = append(met, x)
			case len(met) == 0:
				t.p.Refuse(t.from, "both sides never come to the same: near "+sentence.FormatNumber(x)+" what is drawn leaps or becomes impossible", "make the range narrower, round the number that is meant")
				return x
			}
			if t.d.scope.Context.trials > 0 {
				return x
			}
		}
		last = r
	}
	if len(met) > 0 {
		t.others(met)
		return met[0]
	}
	s := t.d.Sentence
	lastLine, _ := s.Place(len(s.Text))
	cause, _, _ := strings.Cut(t.why.Text, comesOf) // which is told again for this sentence
	switch {
	case low == nil && t.why.File == s.File && t.why.Line >= s.Line && t.why.Line <= lastLine || low == nil && t.d.scope.Context.ofCard(t.why):
		t.d.scope.Context.refuse(t.why) // it is this very sentence, or a line of a card
	case low == nil && t.blocked && t.why.Text == "":
		t.d.scope.Context.Block() // it needs what is refused and told already
	case low == nil:
		t.p.Unfit(t.from, "nothing between "+sentence.FormatNumber(lo)+" and "+sentence.FormatNumber(hi)+" can be drawn: "+cmp.Or(cause, "what it comes to is no number"), "look at the range, and at what is drawn from "+sentence.Quote(t.d.name))
	default:
		t.p.Unfit(t.from, "nothing between "+sentence.FormatNumber(lo)+" and "+sentence.FormatNumber(hi)+" does it: at "+sentence.FormatNumber(low.x)+" it comes to "+sentence.FormatNumber(low.got)+" where "+sentence.FormatNumber(low.wanted)+
			" is wanted, at "+sentence.FormatNumber(high.x)+" to "+sentence.FormatNumber(high.got)+" where "+sentence.FormatNumber(high.wanted)+" is", "make the range wider, or look at the measures")
	}
	return 0
}

type tried struct{ x, got, wanted float64 }

func (r tried) off() float64 { return r.got - r.wanted }

// halve narrows a step to the number within it for which both sides come to the same; false where they
// leap past each other, or nothing can be drawn between.
func (t *trial) halve(low, high *tried) (float64, bool) {
	if high.off() == 0 { // met on a step
		return high.x, true
	}
	_, hi := geom.Halve(low.x, high.x, solveHalves, func(mid float64) bool {
		r := t.at(mid)
		return r != nil && (r.off() < 0) == (low.off() < 0)
	})
	r := t.at(hi)
	return hi, r != nil && math.Abs(r.off()) <= 1e-6*(1+math.Abs(r.wanted))
}

// mostOthers is how many further numbers a note names.
const mostOthers = 3

// others tells of further numbers that do it too: the draft does not say which one is meant.
func (t *trial) others(met []float64) {
	first := sentence.FormatNumber(met[0])
	words := []string{}
	for _, x := range met[1:] {
		if w := sentence.FormatNumber(x); w != first && !slices.Contains(words, w) {
			words = append(words, w)
		}
	}
	if len(words) == 0 {
		return
	}
	does := "does"
	if len(words) > 1 {
		does = "do"
	}
	if more := len(words) - mostOthers; more > 0 {
		words = append(words[:mostOthers], fmt.Sprintf("%d more", more))
	}
	t.d.scope.Context.Note(t.d.Sentence, pattern.RuleReadAssumed, pattern.Note,
		sentence.Quote(t.d.name)+" is "+first+", the smallest number of its range that does it; "+pattern.AndList(words)+" "+does+" it too",
		"no action needed if "+first+" is meant; otherwise narrow the range so that only the one meant lies in it")
}

// at gives both sides for a number, nil where something cannot be drawn. The values that were worked out for it are
// forgotten, but for what does not rest on the number: that is worked out once for all trials.
func (t *trial) at(x float64) *tried {
	e := t.d.scope.Context
	faults, findings, truings, begun := len(e.Faults), len(e.Findings), len(e.Truings), len(e.begun)
	busy, outer := e.busy, e.rests
	for _, b := range busy {
		b.state = untouched // it waits for this very number
	}
	e.busy = nil
	e.trials++
	t.d.Number, t.d.state, t.d.rests = x, worked, e.trials
	r := &tried{x, t.got(), t.wanted()}
	if off := r.off(); e.stuck || math.IsNaN(off) || math.IsInf(off, 0) {
		r = nil
	}
	if len(e.Faults) > faults {
		t.why = e.Faults[faults]
	} else if e.stuck {
		t.blocked = true
	}
	e.stuck = false
	stays := e.begun[:begun]
	for _, d := range e.begun[begun:] {
		if d.rests < e.trials {
			stays = append(stays, d)
		} else {
			d.state, d.Point, d.Curve = untouched, orb.Point{}, nil
		}
	}
	t.bringBack()
	for _, b := range busy {
		b.state = working
	}
	e.trials--
	e.rests = max(outer, e.trials) // between trials of another number it may rest on that one too
	e.busy, e.begun = busy, stays
	e.Faults, e.Findings, e.Truings = e.Faults[:faults], e.Findings[:findings], e.Truings[:truings]
	return r
}
