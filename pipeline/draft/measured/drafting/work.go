package drafting

import (
	"strings"

	"tracewheel/pipeline/draft/measured/sentence"
)

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
			p.Unfit(0, sentence.Quote(d.name)+" is "+sentence.FormatNumber(d.Number)+" and must be "+word+" "+sentence.FormatNumber(b), "look at the measures from which it comes")
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
