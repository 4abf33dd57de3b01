package measured

import (
	"fmt"
	"strings"

	yaml "go.yaml.in/yaml/v4"

	"tracewheel/pipeline/pattern"
)

// unused notes numbers that nothing asks for, and in what traces another drawing points too: there the
// traced one of the right name holds, so that a slip in a name is seen nowhere else. Elsewhere a point
// may stand for its own sake.
func (e *engine) unused() {
	type told struct{ line, col int }
	used := map[told]bool{} // of all that trace a sentence, one is enough
	scopes := []*scope{e.top}
	for _, n := range e.drawOrder {
		scopes = append(scopes, e.draws[n].sc)
	}
	for _, sc := range scopes {
		for _, d := range sc.defs {
			used[told{d.line, d.col}] = used[told{d.line, d.col}] || d.used
		}
	}
	measured := map[*sentence]bool{}
	for _, m := range e.measures {
		measured[m.s] = true
	}
	for _, sc := range scopes {
		for _, n := range sc.order {
			d := sc.defs[n]
			at := told{d.line, d.col}
			if d.kind == isCurve || d.kind == isPoint && !e.traces(sc) || measured[d.s] || used[at] {
				continue
			}
			used[at] = true // it is said once
			var known []string
			for _, k := range sc.names(d.kind) {
				if k != n {
					known = append(known, k)
				}
			}
			mend := "take it out, or look where it should stand"
			if len(n) > 3 {
				if m := nearest(n, known); strings.HasPrefix(m, "did") {
					mend = m
				}
			}
			e.noteAt(d.line, d.col, pattern.RuleLeftOut, pattern.Note, quote(n)+" is told, and nothing uses it", mend)
		}
	}
}

// traces tells whether a drawing copies another's sentences.
func (e *engine) traces(sc *scope) bool {
	for _, d := range sc.defs {
		if line := e.doc.lineOf[sc.name]; d.line < line {
			return true
		}
	}
	return false
}

// otherBodies reads the measures of the bodies that are not drawn now, so that a slip there is told
// today and not on the day when they are.
func (e *engine) otherBodies(names []string, nodes map[string]*yaml.Node) {
	measures, top := e.measures, e.top
	defer func() { e.measures, e.top = measures, top }()
	if len(e.faults) > 0 {
		return
	}
	for _, name := range names {
		if name == e.body {
			continue
		}
		e.measures, e.top = nil, newScope(e, nil, "")
		e.takeMeasures(e.doc, nodes[name])
		if len(e.faults) > 0 {
			return
		}
		var more []string
		for _, m := range e.measures {
			if top.named(m.name, isNumber) == nil {
				more = append(more, m.name)
			}
		}
		for _, m := range measures {
			if e.top.named(m.name, isNumber) != nil {
				continue
			}
			mend := "take it, if the draft needs it"
			if len(more) > 0 {
				mend = "it has " + strings.Join(more, ", ") + ", which " + e.body + " has not: is one of the two misspelt?"
			}
			n := nodes[name]
			e.noteAt(n.Line, n.Column, pattern.RuleMeasureUnlikely, pattern.Note, fmt.Sprintf("the body %q has no %q, and %s has", name, m.name, e.body), mend)
		}
	}
}

func (e *engine) noteAt(line, col int, rule string, sev pattern.Severity, text, mend string) {
	f := pattern.NewFinding(rule, text, mend)
	f.Severity, f.Line, f.Column = sev, line, col
	e.findings = append(e.findings, f)
}
