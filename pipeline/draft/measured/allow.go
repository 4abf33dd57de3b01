package measured

import (
	"math"
	"slices"

	"tracewheel/geom"
	"tracewheel/pipeline/pattern"
)

// edgeWidth is an edge's allowance, in the draft's unit, and how its ends are finished.
type edgeWidth struct {
	from, to   float64
	start, end geom.CornerKind
	s          *sentence
}

// widestAllowance, in mm, is past the deepest hem (from memory: hems up to 15 cm); more is a slip.
const widestAllowance = 250

// narrowestAllowance, in mm, is that of a rolled hem or a bound vent (1/8 in; trade article on seam
// allowances). What is less, and not 0 for a bound edge, is more likely a slip of the point.
const narrowestAllowance = 3

var finishes = []struct {
	word string
	kind geom.CornerKind
}{
	{"mirrored", geom.Mirrored}, {"folded back", geom.Mirrored}, {"squared", geom.Squared}, {"mitred", geom.Mitred},
	{"blunted", geom.Blunted}, {"stepped", geom.Stepped},
}

// makeAllowances reads the allow section: by kind of edge, with exceptions for one piece, and for all
// the rest.
func (e *garment) makeAllowances() {
	en, ok := e.secs["allow"]
	if !ok {
		e.needAllowances()
		return
	}
	before := len(e.faults)
	entries := []entry{{key: "all", keyNode: en.keyNode, node: en.node, s: en.s}}
	if en.s == nil {
		entries = e.entries(en.node)
	}
	for pass := range 3 { // the rest first, then kinds, then single edges
		for _, x := range entries {
			if x.s == nil {
				continue
			}
			e.try(func() { e.allowance(x, pass) })
		}
	}
	if len(e.faults) == before { // a line that is mended may be the one that is missing
		e.needAllowances()
	}
}

func (e *garment) allowance(x entry, pass int) {
	kindPass := 2
	var pcs []*piece
	var idx []int
	add := func(pc *piece, i int) { pcs, idx = append(pcs, pc), append(idx, i) }
	for _, pc := range e.pieces {
		for i, ed := range pc.edges {
			switch x.key {
			case "all":
				kindPass = 0
				add(pc, i)
			case ed.name:
				kindPass = 1
				add(pc, i)
			case pc.name + " " + ed.name, pc.name:
				if x.key == pc.name && kindPass == 2 {
					kindPass = 1
				}
				add(pc, i)
			}
		}
	}
	if len(pcs) == 0 {
		if pass == 0 && len(e.gone) == 0 && x.key != "all" {
			known := []string{"all"}
			for _, pc := range e.pieces {
				for _, n := range pc.edgeNames() {
					if !slices.Contains(known, n) {
						known = append(known, n)
					}
				}
			}
			e.fault(x.keyNode, quote(x.key)+" is no edge of any piece", nearest(x.key, known))
		}
		return
	}
	if kindPass != pass {
		return
	}
	for k, pc := range pcs {
		p := newParser(x.s, pc.sc)
		w := &edgeWidth{s: x.s}
		w.from = p.sum()
		w.to = w.from
		if p.take("to") {
			w.to = p.sum()
		}
		if w.from < 0 || w.to < 0 {
			p.fail(0, "an allowance of "+num(w.from), "an allowance is 0 or more")
		}
		if most := math.Max(w.from, w.to); most*e.unitMM > widestAllowance {
			p.fail(0, "an allowance of "+e.say(most)+" is wider than any seam or hem takes", "look at the unit, and at the stroke of a fraction: 3/8")
		}
		if least := math.Min(w.from, w.to) * e.unitMM; k == 0 && least > 0 && least < narrowestAllowance {
			e.note(x.s, pattern.RuleAllowanceNarrow, pattern.Warning, "an allowance of "+e.say(math.Min(w.from, w.to))+" is narrower than a seam takes",
				"look at the unit and the point; an edge that is bound has 0")
		}
		e.finish1(p, pc, idx[k], w)
		p.end()
		for len(pc.widths) < len(pc.edges) {
			pc.widths = append(pc.widths, nil)
		}
		pc.widths[idx[k]] = w
	}
}

// finish1 reads how the ends are finished: "mirrored", or "squared at shoulder".
func (e *garment) finish1(p *parser, pc *piece, i int, w *edgeWidth) {
	for {
		p.sign(',')
		kind, found := geom.Mitred, false
		for _, f := range finishes {
			if p.take(f.word) {
				kind, found = f.kind, true
				break
			}
		}
		if !found {
			p.noFinish()
			return
		}
		if !p.take("at") {
			w.start, w.end = kind, kind
			continue
		}
		p.take("the")
		at := p.i
		var all []string
		for _, q := range e.pieces {
			all = append(all, q.edgeNames()...)
		}
		n, ok := p.name(all)
		if !ok {
			p.fail(at, quote(p.word())+" is no edge", nearest(p.word(), all))
		}
		count := len(pc.edges)
		if pc.edges[(i+count-1)%count].name == n {
			w.start = kind
		}
		if pc.edges[(i+1)%count].name == n {
			w.end = kind
		}
	}
}

// noFinish refuses what stands where a finish may stand and is none.
func (p *parser) noFinish() {
	if w := p.word(); w != "" {
		var known []string
		for _, f := range finishes {
			known = append(known, f.word)
		}
		p.fail(p.i, p.seen()+" is no finish of a corner", nearest(w, known))
	}
}

// needAllowances refuses pieces of which an edge has no width stated.
func (e *garment) needAllowances() {
	told := map[string]bool{}
	for _, pc := range e.pieces {
		if pc.included {
			continue
		}
		for i, ed := range pc.edges {
			if !ed.fold && (i >= len(pc.widths) || pc.widths[i] == nil) && !told[ed.name] {
				told[ed.name] = true
				e.faults = append(e.faults, Fault{File: pc.s.file, Line: pc.s.lines[0], Column: pc.s.cols[0],
					Text: "the piece " + quote(pc.name) + " has no allowance on its edge " + quote(ed.name),
					Mend: "add a line for " + quote(ed.name) + " under allow, or one for all, or say allowance included"})
				break
			}
		}
	}
}

// width is the allowance of edge i in mm; a fold and what is cut as drawn have none.
func (pc *piece) width(i int) float64 {
	if pc.included || i >= len(pc.widths) || pc.widths[i] == nil || pc.edges[i].fold {
		return 0
	}
	return pc.widths[i].from * pc.sc.eng.unitMM
}
