package measured

import (
	"sort"
	"strings"

	"github.com/paulmach/orb"
)

// parser reads one sentence from left to right and works it out.
type parser struct {
	cursor
	sc *scope // holds the names that may stand where a value is wanted
}

func newParser(s *sentence, sc *scope) *parser { return &parser{cursor{s: s}, sc} }

// end refuses what stands behind the end of what was understood.
func (p *parser) end() {
	if !p.done() {
		at, seen := p.i, p.seen()
		p.fail(at, "this is not understood: "+seen, p.leftOver())
	}
}

// kind is what a name stands for.
type kind int

const (
	isNumber kind = iota
	isPoint
	isCurve
)

func (k kind) String() string { return [...]string{"number", "point", "edge"}[k] }

func (k kind) article() string {
	if k == isCurve {
		return "an edge"
	}
	return "a " + k.String()
}

// The first words by which a sentence tells what it is; anything else is arithmetic.
var (
	pointVerbs = []string{"start", "from", "half-way", "halfway", "half way", "where", "along", "swung", "carried", "mirrored", "turned"}
	curveVerbs = []string{"line", "arc", "curve", "two arcs"}
)

// def is one named thing of a draft: told once, worked out when it is first wanted.
type def struct {
	name  string
	s     *sentence
	line  int
	col   int
	kind  kind
	sc    *scope
	state int // 0 untouched, 1 being worked out, 2 done, 3 refused
	n     float64
	add   float64 // what fittings changed of a number
	used  bool    // another sentence asked for it, or its own holds it within bounds
	pt    orb.Point
	c     curve
}

// scope is where names are looked up: a drawing, or the draft as a whole above it.
type scope struct {
	eng   *engine
	up    *scope
	name  string
	order []string
	defs  map[string]*def
}

func newScope(e *engine, up *scope, name string) *scope {
	return &scope{eng: e, up: up, name: name, defs: map[string]*def{}}
}

func (sc *scope) set(d *def) {
	if _, ok := sc.defs[d.name]; !ok {
		sc.order = append(sc.order, d.name)
	}
	sc.defs[d.name] = d
}

// kindOf classes a sentence by its first words.
func kindOf(s *sentence) kind {
	p := &cursor{s: s}
	for _, v := range pointVerbs {
		if p.is(v) >= 0 {
			return isPoint
		}
	}
	for _, v := range curveVerbs {
		if p.is(v) >= 0 {
			return isCurve
		}
	}
	if strings.Contains(string(s.text), " of the way ") {
		return isPoint
	}
	return isNumber
}

// names lists what of a kind may be said here: the scope's own names, those above it, and those
// of other drawings with the drawing's name before.
func (sc *scope) names(k kind) []string {
	key := nameKey{sc, k}
	if got, ok := sc.eng.nameLists[key]; ok {
		return got
	}
	var out []string
	for s := sc; s != nil; s = s.up {
		for _, n := range s.order {
			if s.defs[n].kind == k {
				out = append(out, n)
			}
		}
	}
	for _, dn := range sc.eng.drawOrder {
		d := sc.eng.draws[dn]
		for _, n := range d.sc.order {
			if d.sc.defs[n].kind == k {
				out = append(out, dn+" "+n)
			}
		}
	}
	sc.eng.nameLists[key] = out
	return out
}

type nameKey struct {
	sc *scope
	k  kind
}

// find gives the definition of a name from names. A measure "neck" stays one beside an edge "neck".
func (sc *scope) find(name string, k kind) *def {
	d := sc.named(name, k)
	if d != nil {
		d.used = true
	}
	return d
}

func (sc *scope) named(name string, k kind) *def {
	for s := sc; s != nil; s = s.up {
		if d, ok := s.defs[name]; ok && d.kind == k {
			return d
		}
	}
	for _, dn := range sc.eng.drawOrder {
		if rest, ok := strings.CutPrefix(name, dn+" "); ok {
			if d, ok := sc.eng.draws[dn].sc.defs[rest]; ok && d.kind == k {
				return d
			}
		}
	}
	return nil
}

// take reads a name of a kind and works it out.
func (p *parser) takeDef(k kind) *def {
	from := p.i
	p.space()
	at := p.i
	name, ok := p.name(p.sc.names(k))
	if !ok {
		p.i = from
		p.unknown(at, k)
	}
	d := p.sc.find(name, k)
	d.work(p, at)
	return d
}

// unknown refuses what should have been a name, with the nearest right one.
func (p *parser) unknown(at int, k kind) {
	known := p.sc.names(k)
	said := p.phrase()
	p.otherKind(at, k)
	if o := otherWord(p.word(), functions); k == isNumber && o != "" {
		p.fail(at, quote(p.word())+" is no measure or number known here", "did you mean "+quote(o)+"?")
	}
	if said == "" {
		p.fail(at, k.article()+" is wanted here, not "+p.seen(), "")
	}
	short := append([]string(nil), known...)
	sort.SliceStable(short, func(i, j int) bool { return len(short[i]) < len(short[j]) })
	words := strings.Fields(said)
	for n := len(words); n > 0; n-- {
		try := strings.Join(words[:n], " ")
		hint := nearest(try, short)
		if strings.HasPrefix(hint, "did you") || n == 1 {
			if hint == "" {
				hint = "nothing of the kind is known yet"
			}
			if k == isNumber && len(words) <= 3 && !strings.HasPrefix(hint, "did you") {
				try = said // a measure's name may be several words
			}
			if k == isPoint && strings.HasPrefix(hint, "known") && strings.Contains(hint, " "+try) {
				hint += "; trace: and a drawing's name gives this one all of its points"
			}
			p.fail(at, quote(try)+" is no "+wordFor(k)+" known here", hint)
		}
	}
}

// otherKind refuses a name that is known as something else. Where its own sentence is refused,
// nothing more is said: it was not understood, so its kind is not known either.
func (p *parser) otherKind(at int, k kind) {
	for _, o := range []kind{isNumber, isPoint, isCurve} {
		if o == k {
			continue
		}
		from := p.i
		name, ok := p.name(p.sc.names(o))
		p.i = from
		if !ok {
			continue
		}
		if d := p.sc.find(name, o); d.state != 1 { // else it is this very sentence
			d.work(p, at)
		}
		p.fail(at, quote(name)+" is "+o.article()+", and "+k.article()+" is wanted here", p.asKind(name, k, o))
	}
}

func wordFor(k kind) string {
	if k == isNumber {
		return "measure or number"
	}
	return k.String()
}

// work evaluates a definition once; what leads back to itself is refused where it was asked for.
func (d *def) work(asker *parser, at int) {
	switch d.state {
	case 2:
		return
	case 3:
		panic(blocked{})
	case 1:
		asker.fail(at, quote(d.name)+" leads back to itself: "+d.circle(), "tell one of them without the other")
	}
	d.state = 1
	e := d.sc.eng
	e.busy = append(e.busy, d)
	if e.trials > 0 {
		e.begun = append(e.begun, d)
	}
	defer func() {
		e.busy = e.busy[:len(e.busy)-1]
		if r := recover(); r != nil {
			d.state = 3
			e.caught(r)
			panic(blocked{})
		}
		d.state = 2
	}()
	p := newParser(d.s, d.sc)
	switch d.kind {
	case isPoint:
		d.pt = p.pointSentence()
		sane(p, d.pt[0], d.pt[1])
	case isCurve:
		d.c = p.curveSentence()
	default:
		if p.take("between") {
			d.n = p.solved(d) + d.add
		} else {
			d.n = p.sum() + d.add
		}
		sane(p, d.n)
		p.bounds(d)
	}
	p.end()
}

// circle tells through what a definition leads back to itself; where that goes through more than
// one drawing, each name has its drawing before it.
func (d *def) circle() string {
	chain := d.sc.eng.busy
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
		if several && c.sc.name != "" {
			n = c.sc.name + " " + n
		}
		names = append(names, n)
	}
	return strings.Join(names, " needs ")
}

// bounds reads what a number must be: "…, more than 0", "…, at least 3", "…, at most 12".
func (p *parser) bounds(d *def) {
	for p.sign(',') {
		word := p.takeAny("more than", "less than", "at least", "at most")
		if word == "" {
			p.fail(p.i, p.seen()+" is not understood", "say more than, less than, at least or at most")
		}
		b := p.sum()
		d.used = true
		if ok := map[string]bool{"more than": d.n > b, "less than": d.n < b, "at least": d.n >= b, "at most": d.n <= b}[word]; !ok {
			p.fail(0, quote(d.name)+" is "+num(d.n)+" and must be "+word+" "+num(b), "look at the measures from which it comes")
		}
	}
}

func sane(p *parser, vs ...float64) {
	for _, v := range vs {
		if !(v > -1e7 && v < 1e7) {
			p.fail(0, "this gives no usable number", "")
		}
	}
}

func (p *parser) point() orb.Point { return p.takeDef(isPoint).pt }
func (p *parser) curve() curve     { return p.takeDef(isCurve).c }
