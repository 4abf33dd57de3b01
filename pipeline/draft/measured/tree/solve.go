package tree

import (
	"math"

	"github.com/paulmach/orb"

	"tracewheel/pipeline/draft/measured/sentence"
)

// How a wanted number is sought: the range is looked through in steps, so that it does not matter where
// a drawing is impossible, and then halved.
const (
	solveSteps  = 24
	solveHalves = 50
)

// sought reads "between 8 and 20 so that length of sleeve cap is length of armhole + 3": the least number
// of that range for which both sides come to the same, by trying. What is drawn from the number is drawn
// for each trial.
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
	why         sentence.Fault // what made the last impossible trial so
}

// between looks the range through in steps.
func (t *trial) between(lo, hi float64) float64 {
	var last, low, high *tried
	before := lo
	for k := range solveSteps + 1 {
		x := lo + (hi-lo)*float64(k)/solveSteps
		r := t.at(x)
		if r == nil {
			last = nil
			continue
		}
		if low == nil {
			low = r
		}
		high = r
		if last != nil && (last.off() < 0) != (r.off() < 0) || r.off() == 0 {
			return t.halve(before, x, last)
		}
		last, before = r, x
	}
	s := t.d.Sentence
	switch {
	case low == nil && t.why.File == s.File && t.why.Line >= s.Lines[0] && t.why.Line <= s.Lines[len(s.Lines)-1]:
		t.d.scope.Context.refuse(t.why) // it is this very sentence
	case low == nil:
		t.p.Unfit(t.from, "nothing between "+sentence.FormatNumber(lo)+" and "+sentence.FormatNumber(hi)+" can be drawn: "+t.why.Text, "look at the range, and at what is drawn from "+sentence.Quote(t.d.name))
	default:
		t.p.Unfit(t.from, "nothing between "+sentence.FormatNumber(lo)+" and "+sentence.FormatNumber(hi)+" does it: at "+sentence.FormatNumber(low.x)+" it comes to "+sentence.FormatNumber(low.got)+" where "+sentence.FormatNumber(low.wanted)+
			" is wanted, at "+sentence.FormatNumber(high.x)+" to "+sentence.FormatNumber(high.got)+" where "+sentence.FormatNumber(high.wanted)+" is", "make the range wider, or look at the measures")
	}
	return 0
}

type tried struct{ x, got, wanted float64 }

func (r tried) off() float64 { return r.got - r.wanted }

func (t *trial) halve(lo, hi float64, low *tried) float64 {
	if low == nil || low.off() == 0 { // met on a step
		return hi
	}
	for range solveHalves {
		mid := (lo + hi) / 2
		if r := t.at(mid); r != nil && (r.off() < 0) == (low.off() < 0) {
			lo = mid
		} else {
			hi = mid
		}
	}
	if r := t.at(hi); r == nil || math.Abs(r.off()) > 1e-6*(1+math.Abs(r.wanted)) { // a leap, or an impossible stretch between
		t.p.Refuse(t.from, "both sides never come to the same: near "+sentence.FormatNumber(hi)+" what is drawn leaps or becomes impossible", "make the range narrower, round the number that is meant")
	}
	return hi
}

// at gives both sides for a number, nil where something cannot be drawn. All that was worked out for it
// is forgotten.
func (t *trial) at(x float64) *tried {
	e := t.d.scope.Context
	faults, findings, truings, begun := len(e.Faults), len(e.Findings), len(e.Truings), len(e.begun)
	busy := e.busy
	bringBack := e.Keep()
	for _, b := range busy {
		b.state = untouched // it waits for this very number
	}
	e.busy = nil
	e.trials++
	t.d.Number, t.d.state = x, worked
	r := &tried{x, t.got(), t.wanted()}
	if off := r.off(); e.stuck || math.IsNaN(off) || math.IsInf(off, 0) {
		r = nil
	}
	e.stuck = false
	if len(e.Faults) > faults {
		t.why = e.Faults[faults]
	}
	for _, d := range e.begun[begun:] {
		d.state, d.Point, d.Curve = untouched, orb.Point{}, nil
	}
	bringBack()
	for _, b := range busy {
		b.state = working
	}
	e.trials--
	e.busy, e.begun = busy, e.begun[:begun]
	e.Faults, e.Findings, e.Truings = e.Faults[:faults], e.Findings[:findings], e.Truings[:truings]
	return r
}
