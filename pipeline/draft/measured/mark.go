package measured

import (
	"strings"

	"github.com/paulmach/orb"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

var markVerbs = []string{"line", "slit", "drill at", "loop at", "text"}

// makeMarks reads what is drawn inside the pieces: "line A to B, called pocket line", "slit P to Q",
// "drill at P", "loop at P", "text at P: words".
func (e *garment) makeMarks() {
	en, ok := e.secs["marks"]
	if !ok {
		return
	}
	for _, x := range e.entries(en.node) {
		var pc *piece
		for _, q := range e.pieces {
			if q.name == x.key {
				pc = q
			}
		}
		if pc == nil && e.isGone(x.key) {
			continue
		}
		if pc == nil {
			var names []string
			for _, q := range e.pieces {
				names = append(names, q.name)
			}
			mend := nearest(x.key, names)
			for _, q := range e.pieces {
				if q.d != nil && q.d.name == x.key {
					mend = "marks stand by the piece: say " + q.name
				}
			}
			e.fault(x.keyNode, quote(x.key)+" is no piece of this draft", mend)
			continue
		}
		for _, s := range e.list(x.node) {
			e.try(func() { (newParser(s, pc.sc)).mark(pc) })
		}
	}
}

func (p *parser) mark(pc *piece) {
	e := p.sc.eng
	switch p.takeAny(markVerbs...) {
	case "line":
		p.innerLine(pc, "")
	case "slit":
		p.innerLine(pc, "slit")
	case "drill at":
		pc.drills = append(pc.drills, pc.flat(p.point()))
	case "loop at":
		at := pc.flat(p.point())
		half := 3 / e.unitMM
		pc.marks = append(pc.marks, innerLine{a: geom.Sub(at, orb.Point{half, 0}), b: geom.Add(at, orb.Point{half, 0}), name: "loop"})
	case "text":
		p.want("at", " and the point")
		at := pc.flat(p.point())
		p.sign(',')
		p.space()
		words := strings.TrimSpace(string(p.s.text[p.i:]))
		p.i = len(p.s.text)
		if words == "" {
			p.fail(p.i, "what the text says is missing", "")
		}
		pc.texts = append(pc.texts, pattern.Label{At: e.mm(at), Text: words})
	default:
		p.fail(p.i, p.seen()+" is no mark", nearest(p.word(), markVerbs))
	}
	p.end()
}

func (p *parser) innerLine(pc *piece, name string) {
	a := p.point()
	p.want("to", " and where it ends")
	l := innerLine{a: pc.flat(a), b: pc.flat(p.point()), name: name}
	if p.sign(',') {
		p.want("called", "")
		p.space()
		l.name = strings.TrimSpace(string(p.s.text[p.i:]))
		p.i = len(p.s.text)
	}
	if geom.Dist(l.a, l.b) < p.sc.eng.hair() {
		p.fail(0, "the line ends where it begins, at "+spot(a), "")
	}
	pc.marks = append(pc.marks, l)
}
