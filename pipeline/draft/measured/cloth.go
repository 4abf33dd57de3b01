package measured

import (
	"fmt"
	"math"

	"tracewheel/config"
	"tracewheel/pipeline/pattern"
)

// makeCloths reads "main: 150 wide, one way, washed first" and finds pieces that no such cloth is wide
// enough for: along the grain, with their allowances, opened out at the fold. What stands behind the
// width is for the person who buys it.
func (e *sewing) makeCloths() {
	en, ok := e.secs["cloth"]
	if !ok {
		return
	}
	var names []string
	entries := e.entries(en.node)
	for _, x := range entries {
		names = append(names, x.key)
	}
	for _, x := range entries {
		if x.s == nil {
			e.fault(x.keyNode, quote(x.key)+" wants a sentence", "say how wide it lies: 150 wide")
			continue
		}
		e.try(func() {
			p := newParser(x.s, e.top)
			wide := p.sum()
			p.want("wide", " and how wide the cloth lies")
			if !p.done() && !p.sign(',') {
				p.fail(p.i, p.seen()+" stands without a comma behind the width", "say "+num(wide)+" wide, "+p.after())
			}
			cut := false
			for _, pc := range e.pieces {
				if pc.material == x.key || pc.material == "" && x.key == "main" {
					cut = true
					e.fitsCloth(pc, x, wide)
				}
			}
			if !cut {
				e.note(x.s, pattern.RuleLeftOut, pattern.Note, "no piece is cut in the cloth "+quote(x.key),
					"say which: behind the piece in "+x.key+"; one that says nothing is cut in main")
			}
		})
	}
	for _, pc := range e.pieces {
		if n := config.Nearest(pc.material, names); n != "" && n != pc.material {
			e.faults = append(e.faults, Fault{File: pc.s.file, Line: pc.s.lines[0], Column: pc.s.cols[0],
				Text: fmt.Sprintf("%q is cut in %q, which is no cloth of this draft", pc.name, pc.material), Mend: "did you mean " + quote(n) + "?"})
		}
	}
}

func (e *sewing) fitsCloth(pc *piece, x entry, wide float64) {
	axis := 0
	switch pc.grain {
	case "bias":
		return // it may be pieced
	case "level":
		axis = 1
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for i, ed := range pc.edges {
		w := pc.width(i) / e.unitMM
		for _, s := range ed.c {
			for k := range 9 {
				at, out := s.at(float64(k)/8), s.dir(float64(k) / 8)[1-axis]
				lo, hi = math.Min(lo, at[axis]-w*math.Abs(out)), math.Max(hi, at[axis]+w*math.Abs(out))
			}
		}
	}
	need := hi - lo
	for _, ed := range pc.edges {
		if u := ed.c[0].dir(0); ed.fold && math.Abs(u[axis]) < 0.5 { // the other half lies across
			need *= 2
		}
	}
	if need <= wide+e.hair() {
		return
	}
	f := e.note(pc.s, pattern.RuleTooWide, pattern.Warning, fmt.Sprintf("%q is %s wide and the cloth %q %s", pc.name, e.say(need), x.key, e.say(wide)),
		"take a wider cloth, turn the grain, or divide the piece by a seam")
	f.Piece, f.Index = pc.name, e.indexOf(pc)
}
